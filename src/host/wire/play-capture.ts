import type { TrialEvent } from '../../model/trial-event.ts';
import { toSeconds } from '../../model/time.ts';
import { decodeAgain } from '../replay/decode-again.ts';
import type { DecodedInstrument } from '../replay/decode-again.ts';
import type { WireRecord } from '../store/contract.ts';
import type { Capture } from './capture-file.ts';

/** One stream of a capture, as its driver reads it. */
export interface StreamRhythm {
  readonly stream: string;
  readonly readings: number;
  /** Null with fewer than two readings. */
  readonly perSecond: number | null;
  /** Between arrivals; null with fewer than three readings. Jitter is the standard deviation of the intervals. */
  readonly intervals: {
    readonly meanSeconds: number;
    readonly jitterSeconds: number;
    readonly longestSeconds: number;
  } | null;
}

/** `edge`: the first that its conversation says, perhaps of a line that was cut: its value looks true. */
interface AtEdge {
  readonly edge: boolean;
}

export interface PlayedCapture extends DecodedInstrument {
  readonly readings: readonly (DecodedInstrument['readings'][number] & AtEdge)[];
  readonly problems: readonly (DecodedInstrument['problems'][number] & AtEdge)[];
  readonly rhythms: readonly StreamRhythm[];
}

/**
 * Runs a capture through the driver of its instrument, in virtual time. Connections are lost and come back where the
 * capture says so, and a new conversation begins behind a gap.
 * @throws ChambersideError `driver-unknown`, `configuration-invalid`.
 */
export async function playCapture({ durationMicroseconds, entries, header }: Capture): Promise<PlayedCapture> {
  const { instrument } = header.instrument;
  const wire: WireRecord[] = [];
  const events: TrialEvent[] = [];
  const gaps: number[] = [];
  let gapAhead = false;
  for (const entry of entries) {
    const { atMicroseconds } = entry;
    if (entry.entry === 'missed') gapAhead = true;
    else if (entry.entry === 'bytes') {
      // Bytes may have been among what is gone, so that the next ones do not go on where the last ones ended.
      if (gapAhead) gaps.push(atMicroseconds);
      gapAhead = false;
      wire.push({ instrument, direction: entry.direction, atMicroseconds, bytes: Buffer.from(entry.hex, 'hex') });
    } else {
      const { byteCount, code, detail } = entry;
      const problem = { instrument, atMicroseconds, code, detail, byteCount };
      events.push({ kind: 'problem', atMicroseconds, problem });
    }
  }
  const decoded = await decodeAgain({
    ...{ configuration: header.instrument, wire, events, segments: [], gaps },
    untilMicroseconds: durationMicroseconds,
  });
  const arrivals = new Map<string, number[]>();
  for (const { atMicroseconds, stream } of decoded.readings) {
    const own = arrivals.get(stream);
    if (own === undefined) arrivals.set(stream, [atMicroseconds]);
    else own.push(atMicroseconds);
  }
  const marked = <One extends { readonly atMicroseconds: number }>(one: One): One & AtEdge => ({
    ...one,
    edge: decoded.edges.has(one.atMicroseconds),
  });
  return {
    ...decoded,
    readings: decoded.readings.map(marked),
    problems: decoded.problems.map(marked),
    rhythms: [...arrivals].map(([stream, times]) => rhythmOf(stream, times)),
  };
}

function rhythmOf(stream: string, times: readonly number[]): StreamRhythm {
  const readings = times.length;
  const count = readings - 1;
  const span = toSeconds((times.at(-1) ?? 0) - (times[0] ?? 0));
  const perSecond = span > 0 ? count / span : null;
  if (count < 2) return { stream, readings, perSecond, intervals: null };
  const meanSeconds = span / count;
  let squares = 0;
  let longestSeconds = 0;
  for (let index = 1; index < readings; index += 1) {
    const interval = toSeconds((times[index] as number) - (times[index - 1] as number));
    squares += (interval - meanSeconds) ** 2;
    longestSeconds = Math.max(longestSeconds, interval);
  }
  const jitterSeconds = Math.sqrt(squares / (count - 1));
  return { stream, readings, perSecond, intervals: { meanSeconds, jitterSeconds, longestSeconds } };
}
