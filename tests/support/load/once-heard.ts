/** By then a contact that is there has said how it stands, ms. */
const heardWithinMilliseconds = 3_000;

/**
 * Asks for what a rig with a stop contact takes only when that has been heard, again until it has. What is refused for
 * another reason is refused at once.
 */
export async function onceHeard(ask: () => Promise<unknown>): Promise<void> {
  const heardBy = Date.now() + heardWithinMilliseconds;
  for (;;) {
    try {
      await ask();
      return;
    } catch (error) {
      if (!/has not been heard yet/.test(String(error)) || Date.now() > heardBy) throw error;
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
  }
}
