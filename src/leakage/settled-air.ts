import type { CertifiedInput } from './certified.ts';
import { freedomOf } from './budget/freedom.ts';
import type { LineFreedom } from './budget/uncertainty.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import { inputsOf } from './trial-inputs.ts';
import type { TrialInputs } from './trial-inputs.ts';

/**
 * Zeros, references and backgrounds of a trial under way with the readings of their windows, so that they can be
 * looked at again when everything else has been forgotten. Plain data; replaced, never changed.
 */
export interface SettledAir {
  readonly zeros: readonly ReadDwell[];
  /** Without those of the entry stage. */
  readonly references: readonly ReadDwell[];
  readonly backgrounds: readonly ReadDwell[];
  /** The readings that their windows use, one window after the other: arrival time, µs, and as they came. */
  readonly atMicroseconds: Float64Array;
  readonly values: Float64Array;
  /** What they come to, as an assessment would have it by now; null before there is anything. */
  readonly known: { readonly inputs: TrialInputs; readonly freedom: LineFreedom } | null;
}

/**
 * Zeros whose scatter is pooled: enough for a stable detection limit, and few enough that the last zero of a long trial
 * takes no longer than the twelfth on the thread that reads the ports.
 */
const mostScatterZeros = 12;

export const noSettledAir: SettledAir = {
  zeros: [],
  references: [],
  backgrounds: [],
  atMicroseconds: new Float64Array(0),
  values: new Float64Array(0),
  known: null,
};

/**
 * Takes in one more zero, reference or background. @param context in which `dwell` was read.
 * @param certified what the certificates of the trial give, for their degrees of freedom.
 */
export function settleAir(
  air: SettledAir,
  context: ReadingContext,
  dwell: ReadDwell,
  certified: readonly CertifiedInput[],
): SettledAir {
  const offset = air.values.length;
  const { first, end } = dwell.span;
  const moved = <Stretch extends { readonly first: number; readonly end: number }>(stretch: Stretch): Stretch => ({
    ...stretch,
    first: stretch.first - first + offset,
    end: stretch.end - first + offset,
  });
  const kept: ReadDwell = { ...dwell, span: moved(dwell.span), pieces: dwell.pieces.map(moved) };
  const atMicroseconds = joined(air.atMicroseconds, context.readings.atMicroseconds.subarray(first, end));
  const values = joined(air.values, context.readings.values.subarray(first, end));
  const { purpose } = dwell.recorded.dwell;
  const zeros = purpose === 'zero' ? [...air.zeros, kept] : air.zeros;
  const references = purpose === 'reference' ? [...air.references, kept] : air.references;
  const backgrounds = purpose === 'background' ? [...air.backgrounds, kept] : air.backgrounds;
  const readings = { ...context.readings, atMicroseconds, values, unusableAtMicroseconds: [] };
  const dwells = { zeros, references, backgrounds, scatterOfNewest: mostScatterZeros };
  const inputs = inputsOf({ ...context, readings }, dwells);
  return {
    ...{ zeros, references, backgrounds, atMicroseconds, values },
    known: { inputs, freedom: freedomOf(inputs, certified) },
  };
}

function joined(before: Float64Array, after: Float64Array): Float64Array {
  const all = new Float64Array(before.length + after.length);
  all.set(before);
  all.set(after, before.length);
  return all;
}
