import type { Page } from 'playwright';
import { drawnMark } from '../../../renderer/chart/drawn.ts';

/** Rooms of the log in a window: frames and drawings of more than an hour. */
const room = 300_000;

/** What a window noted while it was watched. Times are `performance.now()`, ms. */
export interface DrawLog {
  /** Beginnings of frames. */
  readonly frames: readonly number[];
  readonly draws: readonly { readonly at: number; readonly newestMicroseconds: number | null }[];
}

interface LoggingWindow {
  chambersideLog?: { begin(): void; read(): DrawLog };
}

/** Call before the page is loaded: its drawings of the lanes and its frames are then noted, in memory set aside. */
export async function logDrawing(page: Page): Promise<void> {
  await page.addInitScript(
    ({ size, mark }) => {
      const frames = new Float64Array(size);
      const drawnAt = new Float64Array(size);
      const newest = new Float64Array(size);
      let frameCount = 0;
      let drawCount = 0;
      const frame = (): void => {
        frames[frameCount] = performance.now();
        frameCount += 1;
        requestAnimationFrame(frame);
      };
      requestAnimationFrame(frame);
      new PerformanceObserver((list) => {
        for (const entry of list.getEntriesByName(mark)) {
          drawnAt[drawCount] = entry.startTime;
          newest[drawCount] = ((entry as PerformanceMark).detail as number | null) ?? Number.NaN;
          drawCount += 1;
        }
      }).observe({ type: 'mark' });
      (window as LoggingWindow).chambersideLog = {
        begin() {
          frameCount = 0;
          drawCount = 0;
        },
        read: () => ({
          frames: [...frames.subarray(0, frameCount)],
          draws: [...drawnAt.subarray(0, drawCount)].map((at, index) => ({
            at,
            newestMicroseconds: Number.isNaN(newest[index]) ? null : (newest[index] ?? null),
          })),
        }),
      };
    },
    { size: room, mark: drawnMark },
  );
}

export async function beginLog(page: Page): Promise<void> {
  await page.evaluate(() => (window as LoggingWindow).chambersideLog?.begin());
}

export async function readLog(page: Page): Promise<DrawLog> {
  return page.evaluate(() => {
    const log = (window as LoggingWindow).chambersideLog;
    if (log === undefined) throw new Error('this page keeps no log');
    return log.read();
  });
}

/**
 * The machine's monotonic clock minus `performance.now()` of a page, by the quickest of many questions.
 * @returns both in µs; the error is at most `uncertaintyMicroseconds`.
 */
export async function pageClock(page: Page): Promise<{ offsetMicroseconds: number; uncertaintyMicroseconds: number }> {
  const now = (): number => Number(process.hrtime.bigint() / 1000n);
  let best = { offsetMicroseconds: 0, uncertaintyMicroseconds: Number.POSITIVE_INFINITY };
  for (let question = 0; question < 200; question += 1) {
    const asked = now();
    const there = await page.evaluate(() => performance.now());
    const answered = now();
    const uncertaintyMicroseconds = (answered - asked) / 2;
    if (uncertaintyMicroseconds < best.uncertaintyMicroseconds) {
      best = { offsetMicroseconds: (asked + answered) / 2 - there * 1000, uncertaintyMicroseconds };
    }
  }
  return best;
}
