/**
 * Does work and then ends what it needed, whatever came of it. The error of the work is the one that is thrown: one
 * of the ending, which often follows from it, never takes its place.
 */
export async function withEnd<Result>(work: () => Promise<Result>, end: () => Promise<void>): Promise<Result> {
  let result: Result;
  try {
    result = await work();
  } catch (error) {
    await end().catch(() => undefined);
    throw error;
  }
  await end();
  return result;
}
