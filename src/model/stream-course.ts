import { toSeconds } from './time.ts';
import type { TimeSegment } from './time.ts';
import type { StreamRecord, TrialRecord } from './trial-record.ts';

/** How the readings of one stream came in over a whole trial. */
export interface StreamCourse {
  readonly stream: StreamRecord['descriptor'];
  readonly readings: number;
  /**
   * Mean time between readings, s, of the recorder's clock, without silences and breaks of the recording: beside what
   * is expected it shows an instrument whose own clock runs fast or slow. Null for fewer than two, or by event.
   */
  readonly everySeconds: number | null;
  /** Silences: longer than three expected intervals and a quarter of a second. 0 for readings by event. */
  readonly silences: number;
  readonly silentSeconds: number;
  /** Longest time between two readings, breaks of the recording left out, s; null for fewer than two. */
  readonly longestSeconds: number | null;
  /** What the instrument sent and could not be used, over all of its streams. */
  readonly problems: number;
}

const silentIntervals = 3;
const silentSeconds = 0.25;

/** Every stream of a trial, in the order of the record. */
export function streamCourses({ events, segments, streams }: TrialRecord): StreamCourse[] {
  const problems = new Map<string, number>();
  for (const event of events) {
    if (event.kind !== 'problem') continue;
    const { instrument } = event.problem;
    problems.set(instrument, (problems.get(instrument) ?? 0) + 1);
  }
  return streams.map((stream) => ({
    ...courseOf(stream, segments),
    problems: problems.get(stream.descriptor.instrument) ?? 0,
  }));
}

function courseOf(
  { atMicroseconds: at, descriptor }: StreamRecord,
  segments: readonly TimeSegment[],
): Omit<StreamCourse, 'problems'> {
  const { expectedIntervalSeconds: expected } = descriptor;
  const limit = expected === null ? Infinity : Math.max(silentIntervals * expected, silentSeconds);
  const breaks = segments.map(({ beginsAtMicroseconds }) => beginsAtMicroseconds);
  let next = 0;
  let counted = 0;
  let countedSeconds = 0;
  let silences = 0;
  let silent = 0;
  let longest: number | null = null;
  for (let index = 1; index < at.length; index += 1) {
    const before = at[index - 1] as number;
    const now = at[index] as number;
    while (next < breaks.length && (breaks[next] as number) <= before) next += 1;
    if (next < breaks.length && (breaks[next] as number) <= now) continue;
    const seconds = toSeconds(now - before);
    longest = Math.max(longest ?? 0, seconds);
    if (seconds > limit) {
      silences += 1;
      silent += seconds;
    } else {
      counted += 1;
      countedSeconds += seconds;
    }
  }
  return {
    stream: descriptor,
    readings: at.length,
    everySeconds: expected === null || counted === 0 ? null : countedSeconds / counted,
    silences,
    silentSeconds: silent,
    longestSeconds: longest,
  };
}
