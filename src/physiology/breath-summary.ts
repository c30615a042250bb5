import { isChambersideError } from '../model/error-code.ts';
import { breathsFromFlow } from './breathing.ts';
import type { Breath, FlowRecord } from './breathing.ts';

/** How somebody breathed over a time. Volumes as they were measured, not at BTPS. */
export interface BreathSummary {
  /** Breaths that count. */
  readonly breaths: number;
  /** Outside the gates of a person's breath: they count in nothing. */
  readonly refused: number;
  readonly perMinute: number;
  readonly tidalLitres: number;
  readonly minuteLitres: number;
  readonly inspirationSeconds: number;
  readonly expirationSeconds: number;
}

/** A longer silence hides a change of direction, s. What lies on either side of it is read by itself. */
const longestSilenceSeconds = 0.3;

/**
 * Breaths that begin and end between two times, s, over all stretches without a silence.
 * @returns null where no stretch shows three breaths that count.
 * @throws ChambersideError `record-insufficient` for times that do not ascend.
 */
export function summarizeBreaths(record: FlowRecord, fromSeconds: number, toSeconds: number): BreathSummary | null {
  const counted: Breath[] = [];
  let refused = 0;
  for (const stretch of unbroken(record, fromSeconds, toSeconds)) {
    const breaths = breathsOf(stretch);
    for (const breath of breaths) {
      if (breath.refused === null) counted.push(breath);
      else refused += 1;
    }
  }
  if (counted.length === 0) return null;
  const mean = (of: (breath: Breath) => number): number =>
    counted.reduce((sum, breath) => sum + of(breath), 0) / counted.length;
  const inspirationSeconds = mean((breath) => breath.inspirationSeconds);
  const expirationSeconds = mean((breath) => breath.expirationSeconds);
  const tidalLitres = mean((breath) => breath.inspiredLitres);
  const perMinute = 60 / (inspirationSeconds + expirationSeconds);
  return {
    ...{ breaths: counted.length, refused, perMinute, tidalLitres },
    ...{ minuteLitres: perMinute * tidalLitres, inspirationSeconds, expirationSeconds },
  };
}

function breathsOf(stretch: FlowRecord): readonly Breath[] {
  try {
    return breathsFromFlow(stretch, null).breaths;
  } catch (error) {
    if (isChambersideError(error, 'record-insufficient')) return [];
    throw error;
  }
}

/** Finite readings between two times, cut where nothing was read. Of several with one time the last counts. */
function unbroken({ litresPerSecond, seconds }: FlowRecord, from: number, to: number): FlowRecord[] {
  const stretches: number[][] = [[]];
  let last = Number.NaN;
  for (let index = 0; index < seconds.length; index += 1) {
    const at = seconds[index] as number;
    if (at < from || at >= to || at === seconds[index + 1]) continue;
    if (!Number.isFinite(litresPerSecond[index])) continue;
    if (at - last > longestSilenceSeconds) stretches.push([]);
    stretches.at(-1)?.push(index);
    last = at;
  }
  return stretches
    .filter(({ length }) => length >= 10)
    .map((stretch) => ({
      seconds: Float64Array.from(stretch, (index) => seconds[index] as number),
      litresPerSecond: Float64Array.from(stretch, (index) => litresPerSecond[index] as number),
    }));
}
