import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { scenarioNamed } from '../../../drivers/virtual-rig/index.ts';
import type { Scenario } from '../../../drivers/virtual-rig/index.ts';

/** Name of the file that `writeQuickScenario` makes. */
export const quickScenario = 'quick.json';
/** Probes of the quick scenario, in the order of its rig. */
export const quickProbes = ['hood', 'ankle'];

/** The short scenario with two probes and the least time for everything: a trial of little more than a minute. */
export function writeQuickScenario(folder: string, exercises = ['march', 'crawl']): string {
  const short = scenarioNamed('short');
  if (short === undefined) throw new Error('the short scenario is missing');
  const path = join(folder, quickScenario);
  writeFileSync(path, JSON.stringify(quickScenarioOf(short, exercises)));
  return path;
}

/** @param exercises those of the short scenario that stay. */
export function quickScenarioOf(short: Scenario, exercises: readonly string[]): Scenario {
  return {
    ...short,
    name: 'quick',
    title: 'Two probes, as short as it goes',
    rig: {
      ...short.rig,
      name: 'Virtual chamber with two probes',
      ports: short.rig.ports.map((port) =>
        port.role === 'probe' && !quickProbes.includes(port.probe) ? { ...port, role: 'spare' as const } : port,
      ),
    },
    ensemble: {
      ...short.ensemble,
      zones: short.ensemble.zones.filter(({ probe }) => quickProbes.includes(probe)),
      exchanges: short.ensemble.exchanges.filter(({ between }) => between.every((zone) => quickProbes.includes(zone))),
      paths: short.ensemble.paths.filter(({ zone }) => quickProbes.includes(zone)),
    },
    movements: short.movements
      .filter(({ exercise }) => exercises.includes(exercise))
      .map((movement) => ({
        ...movement,
        leakFactors: Object.fromEntries(
          Object.entries(movement.leakFactors).filter(([probe]) => quickProbes.includes(probe)),
        ),
      })),
    series: {
      ...short.series,
      name: 'As short as it goes',
      background: { zeroSeconds: 5, dwellSeconds: 4.5 },
      entry: { ...short.series.entry, minimumSeconds: 6, steadyWindowSeconds: 2, steadyRangePercent: 20 },
      exercises: short.series.exercises
        .filter(({ exercise }) => exercises.includes(exercise))
        .map((exercise) => ({
          ...exercise,
          restSeconds: 7,
          restZeroSeconds: 2,
          leadInSeconds: 4,
          durationSeconds: 18,
        })),
      closing: { referenceSeconds: 5, zeroSeconds: 5 },
      order: { ...short.series.order, forbidden: [] },
    },
  };
}
