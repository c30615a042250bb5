import { readTrial } from '../../src/host/store/read.ts';
import { joinTruth } from '../../src/host/rehearsal/truth-join.ts';
import { openTruth } from '../../src/host/rig/truth-reader.ts';
import { assess } from '../../src/leakage/assess.ts';
import { firstMethod } from '../../src/leakage/default-method.ts';
import type { Assessment, Cell } from '../../src/leakage/assessment.ts';
import type { Method } from '../../src/model/method.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { chamberside } from './command-line.ts';
import type { PrintedRehearsal } from './rehearsal.ts';

/** A rehearsed trial as it was stored, and what the rig really leaked. */
export interface KnownTrial {
  readonly record: TrialRecord;
  readonly truth: ReturnType<typeof openTruth>;
}

/**
 * Rehearses a scenario and reads record and truth again from their files. Cells beyond the tolerance that the command
 * holds them to (exit 1) are no reason to leave a seed out: what is judged here is the stated doubt.
 */
export async function knownTrial(study: string, ...words: string[]): Promise<KnownTrial> {
  const { status, stderr, stdout } = await chamberside('rehearse', '--study', study, ...words, '--json');
  if (status !== 0 && status !== 1) throw new Error(`the rehearsal ended with ${status ?? 'a signal'}: ${stderr}`);
  const { trialId, truthFile } = JSON.parse(stdout) as PrintedRehearsal;
  return { record: readTrial(study, trialId), truth: openTruth(truthFile) };
}

/** A value with its stated doubt, and the truth. */
export interface Judged {
  readonly probe: string;
  readonly position: number | null;
  readonly value: number;
  readonly standard: number;
  readonly low: number;
  readonly high: number;
  readonly truth: number;
  readonly exercise: { readonly low: number; readonly high: number; readonly truth: number } | null;
}

type Stated = Pick<Cell, 'windowPercent' | 'windowStandardPercent' | 'windowExpandedPercent'>;

/** What a seed's assessment says of it, by cell and by mean. */
export interface Recovered {
  readonly cells: readonly Judged[];
  readonly flagged: readonly Judged[];
  /** Means of probes and of the trial. */
  readonly means: readonly Judged[];
}

/**
 * Assesses a trial and puts the truth beside it: that of the very windows, on probe time, as the program names them.
 * @param widened the doubt to judge by instead of the stated one, to see that a wrong budget is found out.
 */
export function recover(
  { record, truth }: KnownTrial,
  method: Method = firstMethod,
  altered: (record: TrialRecord) => TrialRecord = (same) => same,
  widened: (cell: Stated) => Stated = (stated) => stated,
): Recovered {
  const assessment: Assessment = assess(altered(record), method);
  const joined = joinTruth(record, assessment, truth);
  const judge = (stated: Stated, truthPercent: number) => {
    const { windowExpandedPercent: half, windowPercent: value, windowStandardPercent: standard } = widened(stated);
    if (value === null || standard === null || half === null) return null;
    return { value, standard, low: value - half, high: value + half, truth: truthPercent };
  };
  const judged = joined.flatMap((cell): (Judged & { readonly flagged: boolean })[] => {
    const made = cell.truthPercent === null ? null : judge(cell, cell.truthPercent);
    if (made === null) return [];
    const { exerciseHighPercent: high, exerciseLowPercent: low, truthExercisePercent } = cell;
    const known = high !== null && low !== null && truthExercisePercent !== null;
    const exercise = known ? { low, high, truth: truthExercisePercent } : null;
    return [{ ...made, probe: cell.probe, position: cell.dwellPosition, exercise, flagged: cell.flagged }];
  });
  const whole = joined.every(({ truthPercent }) => truthPercent !== null);
  const truthOf = (probe: string | null): number => {
    const own = joined.filter((cell) => probe === null || cell.probe === probe);
    return own.reduce((sum, { truthPercent }) => sum + (truthPercent ?? 0), 0) / own.length;
  };
  const means = [
    ...assessment.probes.map((mean) => ({ probe: mean.probe, mean })),
    { probe: null, mean: assessment.overall },
  ].flatMap(({ mean, probe }): Judged[] => {
    const made = whole && mean.cellsMissing === 0 ? judge(mean, truthOf(probe)) : null;
    return made === null ? [] : [{ ...made, probe: probe ?? 'all', position: null, exercise: null }];
  });
  return {
    cells: judged.filter(({ flagged }) => !flagged),
    flagged: judged.filter(({ flagged }) => flagged),
    means,
  };
}

/** A budget that is wrong by a factor. */
export function budgetTimes(factor: number): (stated: Stated) => Stated {
  return (stated) => ({
    ...stated,
    windowStandardPercent: times(stated.windowStandardPercent, factor),
    windowExpandedPercent: times(stated.windowExpandedPercent, factor),
  });
}

function times(value: number | null, factor: number): number | null {
  return value === null ? null : factor * value;
}

/** A budget that takes the scatter of a window's own readings, bursts and all, for noise: means over 3 s, root of n. */
export function scatterForNoise({ streams }: TrialRecord): (stated: Stated) => Stated {
  const [photometer] = streams;
  return (stated) => {
    const { windowExpandedPercent: half, windowStandardPercent: standard } = stated;
    const [part] = 'parts' in stated ? (stated as Cell).parts : [];
    if (part?.reading == null || part.zero === null || half === null || standard === null) return stated;
    const { arrivalFromMicroseconds: from, arrivalToMicroseconds: to, correctedReading } = part.reading;
    const scale = (part.windowPercent ?? 0) / (correctedReading - part.zero.value - (part.background?.netReading ?? 0));
    const batches = new Map<number, number[]>();
    photometer?.atMicroseconds.forEach((at, index) => {
      if (at < from || at >= to) return;
      const batch = Math.floor((at - from) / 3e6);
      batches.set(batch, [...(batches.get(batch) ?? []), photometer.values[index] as number]);
    });
    const means = [...batches.values()].map(mean);
    const centre = mean(means);
    const squares = means.reduce((sum, value) => sum + (value - centre) ** 2, 0);
    const noise = scale * Math.sqrt(squares / (means.length - 1) / means.length);
    const ofNoise = (stated as Cell).budget.find(({ line }) => line === 'window-noise')?.standardPercent ?? 0;
    const wider = Math.sqrt(standard ** 2 - ofNoise ** 2 + noise ** 2);
    return { ...stated, windowStandardPercent: wider, windowExpandedPercent: (wider * half) / standard };
  };
}

/** What is demanded of many seeds; shares from 0 to 1. */
export interface Demands {
  readonly coverage: readonly [number, number];
  /** Of every probe and of every dwell position. */
  readonly part: readonly [number, number];
  /** |mean z| of every probe. */
  readonly meanZ: number;
  /** rms z of every probe, z cut at 5. */
  readonly rmsZ: readonly [number, number];
  /** |mean relative error| where the stated relative uncertainty is below 3 %. */
  readonly bias: number;
  readonly means: readonly [number, number];
  readonly exercise: number;
}

/** Figures for forty seeds of a correct program: what lies outside has a chance of 2 in 1000 (numerical study). */
export const demandsOf40: Demands = {
  coverage: [0.92, 0.99],
  part: [0.87, 1],
  meanZ: 0.4,
  rmsZ: [0.7, 1.3],
  bias: 0.01,
  means: [0.85, 1],
  exercise: 0.92,
};

export const demandsOf100: Demands = {
  coverage: [0.93, 0.985],
  part: [0.9, 0.995],
  meanZ: 0.3,
  rmsZ: [0.8, 1.2],
  bias: 0.007,
  means: [0.89, 1],
  exercise: 0.92,
};

export const demandsOf500: Demands = {
  coverage: [0.94, 0.98],
  part: [0.925, 0.988],
  meanZ: 0.15,
  rmsZ: [0.85, 1.12],
  bias: 0.005,
  means: [0.92, 0.98],
  exercise: 0.92,
};

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const covers = ({ high, low, truth }: { low: number; high: number; truth: number }): boolean =>
  low <= truth && truth <= high;
export const coverageOf = (all: readonly Judged[]): number => mean(all.map((one) => (covers(one) ? 1 : 0)));
export const zOf = ({ standard, truth, value }: Judged): number => (value - truth) / standard;
const rms = (values: readonly number[]): number => Math.sqrt(mean(values.map((value) => value ** 2)));

/** Every demand that is not met, in words with its figure; empty for a correct program. */
export function unmet(all: readonly Recovered[], demands: Demands): string[] {
  const cells = all.flatMap((one) => one.cells);
  const means = all.flatMap((one) => one.means);
  const failures: string[] = [];
  const within = (what: string, value: number, [low, high]: readonly [number, number]): void => {
    if (!(value >= low && value <= high)) failures.push(`${what}: ${value.toFixed(4)}, asked ${low} to ${high}`);
  };
  if (cells.length === 0) return ['no cells'];
  within('pooled coverage', coverageOf(cells), demands.coverage);
  const probes = [...new Set(cells.map(({ probe }) => probe))];
  const positions = [...new Set(cells.map(({ position }) => position))];
  for (const probe of probes) {
    const own = cells.filter((cell) => cell.probe === probe);
    within(`coverage at ${probe}`, coverageOf(own), demands.part);
    within(`mean z at ${probe}`, mean(own.map(zOf)), [-demands.meanZ, demands.meanZ]);
    within(`rms z at ${probe}`, rms(own.map((one) => Math.max(-5, Math.min(5, zOf(one))))), demands.rmsZ);
    const sharp = own.filter(({ standard, truth }) => standard < 0.03 * truth);
    if (sharp.length > 0) {
      const bias = mean(sharp.map(({ truth, value }) => value / truth - 1));
      within(`relative bias at ${probe}`, bias, [-demands.bias, demands.bias]);
    }
  }
  for (const position of positions) {
    const own = cells.filter((cell) => cell.position === position);
    within(`coverage at position ${position}`, coverageOf(own), demands.part);
  }
  within('coverage of means', coverageOf(means), demands.means);
  const exercises = cells.flatMap(({ exercise }) => (exercise === null ? [] : [exercise]));
  within('coverage of whole exercises', mean(exercises.map((one) => (covers(one) ? 1 : 0))), [demands.exercise, 1]);
  return failures;
}
