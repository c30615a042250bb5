import { existsSync, readdirSync, writeFileSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { scenarios, type Scenario } from '../../drivers/virtual-rig/index.ts';
import { createHostRuntime } from '../../src/host/runtime/create-host-runtime.ts';
import { chambersideHere as chamberside, type PrintedOutcome } from '../support/command-in-process.ts';
import { temporaryFolder } from '../support/command-line.ts';

/** A scenario that is wrong is found before anything is made: no study, no truth, no folder of a host. */
const { short } = scenarios;
const { rig } = short;

const withRig = (change: Partial<Scenario['rig']>): Scenario => ({ ...short, rig: { ...rig, ...change } });
const ports = (change: Partial<Scenario['rig']['ports'][number]>): Scenario =>
  withRig({ ports: rig.ports.map((port, index) => (index === 0 ? { ...port, ...change } : port)) });

const wrong: [string, object, string][] = [
  [
    'a belt for a photometer',
    withRig({ photometer: 'belt', photometerStream: 'heart-rate' }),
    'rig.photometer: names belt, whose kind is heart-rate; it must be photometer',
  ],
  [
    'a photometer for a valve',
    withRig({ selectorValve: 'photometer' }),
    'rig.selectorValve: names photometer, whose kind is photometer; it must be selector-valve',
  ],
  [
    'a valve for a belt',
    withRig({ heartRate: 'selector' }),
    'rig.heartRate: names selector, whose kind is selector-valve; it must be heart-rate',
  ],
  [
    'an energy for a concentration',
    withRig({
      instruments: rig.instruments.map((one) =>
        one.instrument === 'photometer' ? { ...one, settings: { ...one.settings, unit: 'kJ' } } : one,
      ),
    }),
    'photometer delivers concentration in kJ, a unit of energy, which tells no concentration',
  ],
  [
    'volts for a concentration',
    withRig({
      instruments: rig.instruments.map((one) =>
        one.instrument === 'photometer' ? { ...one, settings: { ...one.settings, unit: 'mV' } } : one,
      ),
    }),
    'photometer delivers concentration in mV, a unit of voltage, which tells no concentration',
  ],
  ['a penetration above one', ports({ penetration: { value: 1.5, standardUncertainty: 0 } }), 'penetration.value'],
  ['a dilution below one', ports({ dilution: { value: 0.5, standardUncertainty: 0 } }), 'rig.ports.0.dilution.value'],
  [
    'a time constant of thirty years',
    withRig({ timeConstantSeconds: { value: 1e9, standardUncertainty: 0 } }),
    'rig.timeConstantSeconds.value',
  ],
  ['a field that nobody knows', { ...short, subjects: 2 }, 'subjects: there is no such field'],
];

let folder: ReturnType<typeof temporaryFolder>;
beforeEach(() => {
  folder = temporaryFolder();
});
afterEach(() => folder.clear());

function written(scenario: object): string {
  const path = folder.file('mine.json');
  writeFileSync(path, JSON.stringify(scenario));
  return path;
}

function refuses(outcome: PrintedOutcome, words: string): void {
  expect(outcome.stderr).toContain('configuration-invalid: ');
  expect(outcome.stderr).toContain(words);
  expect(outcome.status).toBe(1);
  expect(readdirSync(folder.path)).toEqual(['mine.json']);
}

describe.each(wrong)('a scenario with %s', (_name, scenario, words) => {
  it.each(['none', 'pty', 'tcp'])('is refused by a rehearsal on %s, which leaves nothing behind', async (wire) => {
    const path = written(scenario);
    const study = folder.file('study.chamberside');
    refuses(await chamberside('rehearse', '--study', study, '--scenario', path, '--wire', wire), words);
  });

  it('is refused by the program before it has made its folder', async () => {
    const path = written(scenario);
    const home = folder.file('home');
    refuses(await chamberside('start', '--no-window', '--folder', home, '--virtual-rig', path), words);
    expect(existsSync(home)).toBe(false);
  });
});

describe('a wrong scenario in the folder of a host', () => {
  it('is refused to a window with what is wrong, and leaves no truth behind', async () => {
    const host = await createHostRuntime({ folder: folder.path, program: 'test' });
    try {
      const before = readdirSync(folder.path);
      written(withRig({ heartRate: 'selector' }));
      await expect(
        host.procedures.rig.startVirtual({ scenario: 'mine.json', seed: 1 }, { window: 1 }),
      ).rejects.toMatchObject({ code: 'configuration-invalid' });
      expect(readdirSync(folder.path).sort()).toEqual([...before, 'mine.json'].sort());
    } finally {
      await host.close();
    }
  });
});
