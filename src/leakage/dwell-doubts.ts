import type { Port } from '../model/rig.ts';
import { toSeconds } from '../model/time.ts';
import { doubt, figure } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import type { Piece, ReadingContext } from './dwell-reading.ts';
import { arrivalsOf, keptIntervals } from './left-out.ts';
import { firstReadingAbove, longestSilence } from './readings.ts';
import type { RecordedDwell } from './recorded-dwell.ts';
import type { UsableWindow } from './window.ts';

/**
 * A silence longer than this many expected intervals and than this share of the window is a gap. A mean that lacks 3 %
 * of its time is wrong by 3 % of the ripple at the most: 1 % at the 30 % that a probe sees of the strokes.
 */
const gapIntervals = 3;
const gapShare = 0.03;

/** The valve confirmed another port than the dwell's, or one that the rig has not. */
export function wrongPort({ acknowledgedPort, dwell }: RecordedDwell): Doubt {
  const found =
    acknowledgedPort === null || acknowledgedPort === dwell.port
      ? `the rig has no port ${dwell.port}`
      : `the valve confirmed port ${acknowledgedPort} instead of ${dwell.port}`;
  return doubt('wrong-port', dwell.dwell, found);
}

/** Every doubt that a dwell by itself gives rise to. @param lost readings of its window that are left out. */
export function doubtsOfDwell(
  context: ReadingContext,
  recorded: RecordedDwell,
  port: Port,
  window: UsableWindow,
  pieces: readonly Piece[],
  lost: number,
): Doubt[] {
  const { problemsAtMicroseconds, readings, rig, segments } = context;
  const { dwell } = recorded.dwell;
  const doubts: Doubt[] = [];
  if (!recorded.complete) doubts.push(doubt('incomplete', dwell, 'the dwell was cut short'));
  const acknowledged = recorded.acknowledgedAtMicroseconds ?? window.fromMicroseconds;
  const length = window.toMicroseconds - window.fromMicroseconds;
  const allowed = Math.max(gapIntervals * readings.intervalMicroseconds, gapShare * length);
  // Nobody misses a reading that is left out anyway.
  const looked = keptIntervals(window, arrivalsOf(context, port));
  const silence = Math.max(...looked.map((interval) => longestSilence(readings, interval)));
  const broken = segments.some(
    ({ beginsAtMicroseconds }) => acknowledged < beginsAtMicroseconds && beginsAtMicroseconds < window.toMicroseconds,
  );
  if (silence > allowed) {
    const measured = figure(toSeconds(silence), toSeconds(allowed), 'seconds');
    doubts.push(doubt('gap', dwell, 'longest time without a reading', measured));
  }
  if (broken) doubts.push(doubt('gap', dwell, 'a break in time lies inside the dwell'));
  const inWindow = (at: number): boolean =>
    looked.some(({ fromMicroseconds, toMicroseconds }) => fromMicroseconds <= at && at < toMicroseconds);
  const bad =
    problemsAtMicroseconds.filter(inWindow).length + readings.unusableAtMicroseconds.filter(inWindow).length;
  if (bad > 0) doubts.push(doubt('problem-readings', dwell, 'problems in the window', figure(bad, null, 'readings')));
  const saturated = firstReadingAbove(readings.values, pieces, rig.saturation);
  if (saturated !== null)
    doubts.push(doubt('saturated', dwell, 'a reading', figure(saturated, rig.saturation, 'reading')));
  if (lost > 0)
    doubts.push(doubt('left-out', dwell, 'readings of the window that are left out', figure(lost, null, 'readings')));
  return doubts;
}
