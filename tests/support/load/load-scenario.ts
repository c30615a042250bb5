import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { scenarioNamed } from '../../../drivers/virtual-rig/index.ts';
import type { Scenario } from '../../../drivers/virtual-rig/index.ts';
import { quickScenarioOf } from '../runtime/quick-scenario.ts';

/** Readings a second of the load scenario: two photometers at 100 each, and what the belt adds. */
export const loadReadingsPerSecond = 200;

/**
 * A rig that sends 200 readings a second over five streams: two photometers at 100 Hz, and heart rate, RR intervals
 * and energy of a belt; with one exercise of a chosen length, every probe six times.
 * @returns the path of the scenario's file.
 */
export function writeLoadScenario(folder: string, exerciseSeconds: number): string {
  const short = scenarioNamed('short');
  if (short === undefined) throw new Error('the short scenario is missing');
  const quick = quickScenarioOf(short, ['march']);
  // Without its contacts: they say little, and the load is what is stated above.
  const [photometer, ...others] = quick.rig.instruments.filter(({ kind }) => kind !== 'contact');
  if (photometer === undefined) throw new Error('the short scenario has no photometer');
  const fast = { ...photometer, settings: { ...photometer.settings, expectedIntervalSeconds: 0.01 } };
  const load: Scenario = {
    ...quick,
    name: 'load',
    title: 'Two photometers at 100 Hz and a belt',
    rig: { ...quick.rig, instruments: [fast, { ...fast, instrument: 'second-photometer' }, ...others] },
    photometer: { ...quick.photometer, intervalMilliseconds: 10 },
    series: {
      ...quick.series,
      exercises: quick.series.exercises.map((exercise) => ({
        ...exercise,
        durationSeconds: exerciseSeconds,
        dwellsPerProbe: 6,
      })),
    },
  };
  const path = join(folder, 'load.json');
  writeFileSync(path, JSON.stringify(load));
  return path;
}
