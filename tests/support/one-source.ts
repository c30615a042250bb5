import type { Scenario } from '../../drivers/virtual-rig/scenario.ts';
import { scenarios } from '../../drivers/virtual-rig/scenarios/index.ts';
import type { BudgetLineName } from '../../src/leakage/budget/line.ts';
import type { Rig, Stated } from '../../src/model/rig.ts';

const { sharp } = scenarios;
const sure = ({ value }: Stated): Stated => ({ value, standardUncertainty: 0 });
const noDrift = { ...sharp.photometer.zeroDrift, linearPercentPerHour: 0, smoothPercentPerHour: 0 };

/** The sharp scenario with every source of doubt off, but for a twentieth of the noise: a reading must move at all. */
const still: Scenario = {
  ...sharp,
  rig: {
    ...sharp.rig,
    timeConstantSeconds: sure(sharp.rig.timeConstantSeconds),
    instrumentDelaySeconds: sure(sharp.rig.instrumentDelaySeconds),
    commonTransitSeconds: sure(sharp.rig.commonTransitSeconds),
    spatialFactor: sure(sharp.rig.spatialFactor),
    ports: sharp.rig.ports.map((port) => ({
      ...port,
      transitSeconds: sure(port.transitSeconds),
      dilution: sure(port.dilution),
      penetration: sure(port.penetration),
    })),
  },
  chamber: { ...sharp.chamber, generatorFluctuationPercent: 0, driftPercentPerHour: 0 },
  photometer: {
    ...sharp.photometer,
    zeroDrift: noDrift,
    spanDrift: noDrift,
    baselineNoisePercent: sharp.photometer.baselineNoisePercent / 20,
    shotNoisePercent: sharp.photometer.shotNoisePercent / 20,
  },
};

/** A scenario in which one source of doubt acts, and the lines of the budget that are to cover it. */
export interface OneSource {
  readonly source: string;
  readonly lines: readonly BudgetLineName[];
  readonly scenario: Scenario;
  /** The probe at which it shows, and the exercises where it does: all, if left out. */
  readonly probe: string;
  readonly exercises?: readonly string[];
  /** The error of the source has a largest value not far from its root mean square, as that of a sine has. */
  readonly bounded?: true;
}

const withRig = (change: (rig: Rig) => Partial<Rig>): Scenario => ({
  ...still,
  rig: { ...still.rig, ...change(sharp.rig) },
});
const withPorts = (field: 'dilution' | 'penetration'): Scenario => ({
  ...still,
  rig: {
    ...still.rig,
    ports: still.rig.ports.map((port, index) => ({ ...port, [field]: sharp.rig.ports[index]?.[field] ?? port[field] })),
  },
});

const doubtful = ({ value, standardUncertainty }: Stated, times: number): Stated => ({
  value,
  standardUncertainty: standardUncertainty * times,
});

/**
 * A transit shows only where leakage moves within a window, and little there: it is known to four tenths of a
 * second here, as by a stopwatch, and the photometer hardly scatters.
 */
const badlyTimed: Scenario = {
  ...quiet(still),
  rig: {
    ...still.rig,
    ports: sharp.rig.ports.map((port, index) => ({
      ...(still.rig.ports[index] ?? port),
      transitSeconds: doubtful(port.transitSeconds, 8),
    })),
  },
};

/** Exercises that begin from the reference, the hood's dwell directly behind it; zero is read before the others. */
const straight = sharp.series.exercises.filter((_, index) => index % 2 === 1).map(({ exercise }) => exercise);

/** What is left of the whole challenge five time constants later: many times the leakage of the hood. */
const afterReference: Scenario = {
  ...quiet(still),
  rig: { ...still.rig, timeConstantSeconds: sharp.rig.timeConstantSeconds },
  series: {
    ...sharp.series,
    exercises: sharp.series.exercises.map((exercise) =>
      straight.includes(exercise.exercise) ? { ...exercise, restZeroSeconds: 0, leadInSeconds: 0 } : exercise,
    ),
    order: { ...sharp.series.order, kind: 'fixed', offset: 0, forbidden: [] },
  },
};

/** With hardly any noise. */
function quiet(scenario: Scenario): Scenario {
  const { baselineNoisePercent, shotNoisePercent } = scenario.photometer;
  return {
    ...scenario,
    photometer: {
      ...scenario.photometer,
      baselineNoisePercent: baselineNoisePercent / 20,
      shotNoisePercent: shotNoisePercent / 20,
    },
  };
}

export const oneSources: readonly OneSource[] = [
  { source: 'dilution', lines: ['dilution'], probe: 'chest', scenario: withPorts('dilution') },
  { source: 'line loss', lines: ['line-loss'], probe: 'thigh', scenario: withPorts('penetration') },
  {
    source: 'spatial factor',
    lines: ['spatial-factor'],
    probe: 'chest',
    scenario: withRig(({ spatialFactor }) => ({ spatialFactor })),
  },
  { source: 'transit', lines: ['transit'], probe: 'chest', scenario: badlyTimed },
  {
    source: 'challenge',
    lines: ['challenge'],
    probe: 'chest',
    scenario: { ...still, chamber: { ...sharp.chamber, driftPercentPerHour: 0 } },
  },
  {
    source: 'noise',
    lines: ['window-noise', 'zero-noise', 'background-noise', 'reference-noise'],
    probe: 'hood',
    scenario: {
      ...still,
      photometer: { ...sharp.photometer, zeroDrift: noDrift, spanDrift: noDrift },
    },
  },
  {
    source: 'smooth zero drift',
    lines: ['zero-drift'],
    probe: 'hood',
    bounded: true,
    scenario: {
      ...still,
      photometer: {
        ...still.photometer,
        zeroDrift: { ...noDrift, smoothPercentPerHour: 2, smoothPeriodMinutes: 30 },
      },
    },
  },
  {
    source: 'time constant',
    lines: ['time-constant'],
    probe: 'hood',
    exercises: straight,
    scenario: afterReference,
  },
];
