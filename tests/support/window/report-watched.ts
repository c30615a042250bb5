import { quantile } from '../load/measures.ts';
import type { WatchedTrial } from './watched-trial.ts';

/** Prints what was measured, for whoever reads the run. */
export function reportWatched(watched: WatchedTrial): void {
  const { lineToPixelMilliseconds: pixel, frameMilliseconds: frames, heapBytes } = watched;
  const at = (share: number): string => quantile(pixel, share).toFixed(1);
  const slow = (100 * frames.filter((milliseconds) => milliseconds > 25).length) / frames.length;
  const draws = [0.05, 0.5].map((share) => quantile(watched.drawsPerSecond, share)).join(' / ');
  const megabytes = heapBytes.map((bytes) => (bytes / 1e6).toFixed(2));
  console.log(
    [
      `line to pixel ms, median / p99 / most: ${at(0.5)} / ${at(0.99)} / ${at(1)} of ${pixel.length} readings`,
      `redraws a second, 5 % / median: ${draws}`,
      `frames over 25 ms: ${slow.toFixed(2)} %`,
      `host: ${(100 * watched.hostShare).toFixed(1)} % of a core`,
      `window memory MB: ${megabytes.join(' ')}`,
      `clocks known to ${watched.clockDoubtMilliseconds.toFixed(2)} ms`,
    ].join('\n'),
  );
}
