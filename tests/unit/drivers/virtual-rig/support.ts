import { RigPhysics } from '../../../../drivers/virtual-rig/physics.ts';
import type { Scenario } from '../../../../drivers/virtual-rig/scenario.ts';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { decodeTruth, TruthWriter, truthLeakagePercent, type Truth } from '../../../../drivers/virtual-rig/truth.ts';
import { toMicroseconds } from '../../../../src/model/time.ts';

export const probes = demo.ensemble.zones.map((zone) => zone.probe);

/** The demo rig with every random and drifting thing off and ideal optics: what is left can be computed by hand. */
export const quiet: Scenario = {
  ...demo,
  trueValues: 'stated',
  chamber: {
    ...demo.chamber,
    levelStandardDeviationPercent: 0,
    generatorFluctuationPercent: 0,
    driftPercentPerHour: 0,
    door: { openSeconds: 0, exchangePerSecond: 0 },
  },
  ensemble: {
    ...demo.ensemble,
    fitLogStandardDeviation: 0,
    exerciseLogStandardDeviation: 0,
    backgroundLogStandardDeviation: 0,
    trendPercent: 0,
    strokePercent: 0,
    slowPercent: 0,
  },
  photometer: {
    ...demo.photometer,
    zeroReading: 0,
    zeroDrift: { ...demo.photometer.zeroDrift, linearPercentPerHour: 0, smoothPercentPerHour: 0 },
    spanDrift: { ...demo.photometer.spanDrift, linearPercentPerHour: 0, smoothPercentPerHour: 0 },
    baselineNoisePercent: 0,
    shotNoisePercent: 0,
    quantum: 0,
  },
};

/** `quiet` with a valve that moves in no time and lines of plug flow. */
export const plain: Scenario = {
  ...quiet,
  rig: { ...quiet.rig, valveSwitchingSeconds: 0, commonDispersionSeconds: 0 },
  sampling: { ...quiet.sampling, portDispersionSeconds: 0 },
};

export interface Recorded {
  readonly physics: RigPhysics;
  /** Truth bins: challenge, reference, cells. */
  readonly bins: { readonly challenge: number; readonly reference: number; readonly cells: number[] }[];
}

export function record(scenario: Scenario, seed: number, startedInside: { exercise: string | null } | null): Recorded {
  const bins: Recorded['bins'] = [];
  const physics = new RigPhysics({
    scenario,
    seed,
    truth: (_at, challenge, reference, cells) => {
      bins.push({ challenge, reference, cells: Array.from(cells) });
    },
    startedInside,
  });
  return { physics, bins };
}

export interface WalkedCell {
  readonly exercise: string;
  readonly probe: string;
  readonly dwellPosition: number;
  readonly windowPercent: number;
  readonly exercisePercent: number;
}

/** Plays a series to the subject by its timetable and reads the truth of every cell. Windows leave 5 s to settle. */
export function walk(scenario: Scenario, seed: number): { cells: WalkedCell[]; truth: Truth } {
  const chunks: Uint8Array[] = [];
  const sink = { append: (bytes: Uint8Array) => void chunks.push(bytes) };
  const writer = new TruthWriter(sink, { binMicroseconds: 50_000, unit: 'mg/m3', probes, backgrounds: [] }, 20);
  const physics = new RigPhysics({
    scenario,
    seed,
    truth: (at, challenge, reference, cells, inspired) => writer.add(at, challenge, reference, cells, inspired),
    startedInside: null,
  });
  const planned: {
    exercise: string;
    probe: string;
    position: number;
    window: [number, number];
    whole: [number, number];
  }[] = [];
  let second = 150;
  physics.cue(toMicroseconds(second), { cue: 'enter', exercise: null });
  second += 60;
  for (const [row, exercise] of scenario.series.exercises.entries()) {
    physics.cue(toMicroseconds(second), { cue: 'rest', exercise: exercise.exercise });
    second += exercise.restSeconds;
    physics.cue(toMicroseconds(second), { cue: 'begin', exercise: exercise.exercise });
    const dwell = (exercise.durationSeconds - exercise.leadInSeconds) / probes.length;
    for (let position = 0; position < probes.length; position += 1) {
      const from = second + exercise.leadInSeconds + position * dwell;
      planned.push({
        exercise: exercise.exercise,
        probe: probes[(position + row) % probes.length] as string,
        position: position + 1,
        window: [from + 5, from + dwell - 0.4],
        whole: [second, second + exercise.durationSeconds],
      });
    }
    second += exercise.durationSeconds;
    physics.cue(toMicroseconds(second), { cue: 'end', exercise: exercise.exercise });
  }
  second += scenario.series.closing.referenceSeconds + scenario.series.closing.zeroSeconds;
  physics.advanceTo(toMicroseconds(second));
  writer.flush();
  const truth = decodeTruth(joinBytes(chunks));
  if (truth === null) throw new Error('the truth cannot be read');
  const percent = (probe: string, [from, to]: [number, number]): number => {
    const value = truthLeakagePercent(truth, probe, toMicroseconds(from), toMicroseconds(to));
    if (value === null) throw new Error(`no truth for ${probe}`);
    return value;
  };
  const cells = planned.map(({ exercise, probe, position, window, whole }) => ({
    exercise,
    probe,
    dwellPosition: position,
    windowPercent: percent(probe, window),
    exercisePercent: percent(probe, whole),
  }));
  return { cells, truth };
}

export function joinBytes(chunks: readonly Uint8Array[]): Uint8Array {
  const all = new Uint8Array(chunks.reduce((sum, chunk) => sum + chunk.length, 0));
  let at = 0;
  for (const chunk of chunks) {
    all.set(chunk, at);
    at += chunk.length;
  }
  return all;
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Share of sorted values below, by the nearest rank. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((one, other) => one - other);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] as number;
}
