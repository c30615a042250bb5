/** `full` gives numbers to rely on; `tiny` only shows that a stage runs. */
export type Size = 'full' | 'tiny';

/** The two ways of doing the same work. Each call does it once and gives what it took, in the stage's unit. */
export interface Sides {
  floor(): Promise<number> | number;
  product(): Promise<number> | number;
  end(): Promise<void> | void;
}

/** One stage of the program that is held against the least that its work can cost. */
export interface Stage {
  readonly name: string;
  /** What one number means: `µs a line`. Always a time, so that less is better. */
  readonly unit: string;
  /** Largest ratio of product to floor that is good; where each comes from stands in docs/guides/benchmarks.md. */
  readonly target: number;
  /** Rounds that count; in each both sides are measured once, in turns of order. */
  readonly rounds: Readonly<Record<Size, number>>;
  /** Rounds before that, for what is only compiled or read from disk once. */
  readonly warmUps: number;
  /** @param folder empty, on the disk that the program would record on; removed afterwards. */
  begin(size: Size, folder: string): Promise<Sides> | Sides;
}

/** Milliseconds that the work takes. */
export function timed(work: () => void): number {
  const began = performance.now();
  work();
  return performance.now() - began;
}

/** As `timed`, for work that ends later. */
export async function timedUntil(work: () => Promise<unknown>): Promise<number> {
  const began = performance.now();
  await work();
  return performance.now() - began;
}

/** Both sides must have done the same work, or their times say nothing. @throws Error. */
export function assertSame(stage: string, what: string, floor: unknown, product: unknown): void {
  if (Object.is(floor, product)) return;
  throw new Error(`${stage}: the floor has ${what} ${String(floor)}, the product ${String(product)}`);
}
