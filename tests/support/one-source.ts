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
  /** The probe at which it shows. */
  readonly probe: string;
}

const withRig = (change: (rig: Rig) => Partial<Rig>): Scenario => ({
  ...still,
  rig: { ...still.rig, ...change(sharp.rig) },
});
const withPorts = (field: 'dilution' | 'penetration' | 'transitSeconds'): Scenario => ({
  ...still,
  rig: {
    ...still.rig,
    ports: still.rig.ports.map((port, index) => ({ ...port, [field]: sharp.rig.ports[index]?.[field] ?? port[field] })),
  },
});

export const oneSources: readonly OneSource[] = [
  { source: 'dilution', lines: ['dilution'], probe: 'chest', scenario: withPorts('dilution') },
  { source: 'line loss', lines: ['line-loss'], probe: 'thigh', scenario: withPorts('penetration') },
  {
    source: 'spatial factor',
    lines: ['spatial-factor'],
    probe: 'chest',
    scenario: withRig(({ spatialFactor }) => ({ spatialFactor })),
  },
  { source: 'transit', lines: ['transit'], probe: 'chest', scenario: withPorts('transitSeconds') },
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
    scenario: withRig(({ timeConstantSeconds }) => ({ timeConstantSeconds })),
  },
];
