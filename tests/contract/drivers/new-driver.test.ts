import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, rmSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import type { DriverManifest } from '../../../src/device/driver.ts';
import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { textToBytes } from '../../../src/model/bytes.ts';
import { parseSettings } from '../../../drivers/registry.ts';
import { temporaryFolder } from '../../support/command-line.ts';
import { withFramers } from './bench.ts';
import { conformance } from './conformance-suite.ts';
import { simulated } from './simulators-suite.ts';
import type { Specimen } from './specimens.ts';

const root = join(import.meta.dirname, '../../..');
const command = join(root, 'build/new-driver.mjs');
const folder = temporaryFolder();
afterAll(() => folder.clear());

/** A place from which a driver reaches what it is built of, as if it stood among the others. */
const drivers = join(folder.path, 'drivers');
mkdirSync(drivers);
for (const part of ['src', 'drivers/framing', 'drivers/simulation', 'node_modules']) {
  symlinkSync(join(root, part), join(folder.path, part), 'dir');
}

type World = { readonly read: () => ReadonlyMap<string, number>; readonly intervalMicroseconds: number };
type CreateSimulator = (settings: unknown, context: SimulatorContext, world: World) => Simulator;

async function written(kind: string): Promise<{ manifest: DriverManifest; create: CreateSimulator }> {
  execFileSync(process.execPath, [command, 'own-lines', '--kind', kind, '--into', drivers]);
  const at = join(drivers, kind, 'own-lines');
  expect(readdirSync(at).sort()).toEqual(['README.md', 'codec.ts', 'driver.ts', 'manifest.ts', 'simulator.ts']);
  const exported = async <Value>(file: string, name: RegExp): Promise<Value> => {
    const module = (await import(pathToFileURL(join(at, file)).href)) as Readonly<Record<string, Value>>;
    const found = Object.entries(module).find(([key]) => name.test(key))?.[1];
    if (found === undefined) throw new Error(`${file} exports no ${String(name)}`);
    return found;
  };
  return {
    manifest: await exported('manifest.ts', /OwnLines$/),
    create: await exported('simulator.ts', /^create/),
  };
}

const { create, manifest } = await written('climate');
const degrees = (value: number) => [{ stream: 'temperature', value }];
/** Check sums worked out apart from the program: exclusive-or of everything before the star. */
const specimen: Specimen = {
  ...{ settings: {}, delimiter: '\n', capBytes: 256, conversation: null },
  pieces: [
    { bytes: 'value 21.5 *73\n', readings: degrees(21.5) },
    { bytes: 'value 21.5 *73\r\n', readings: degrees(21.5) },
  ],
  zero: { bytes: 'value 0.0 *45\n', readings: degrees(0) },
  negative: { bytes: 'value -0.5 *6D\n', readings: degrees(-0.5) },
  wrongChecksum: 'value 21.5 *74\n',
  simulate: (context) =>
    create(parseSettings(manifest, 'own', {}), context, {
      read: () => new Map([['temperature', 20]]),
      intervalMicroseconds: 1_000_000,
    }),
  simulatedReadings: degrees(20),
  simulatedIntervalMicroseconds: 1_000_000,
};

describe.each(withFramers(manifest))('a driver as npm run new-driver writes it, %s, %s', (...subject) => {
  conformance(subject, specimen);
});
describe.each(withFramers(manifest))('a driver as npm run new-driver writes it, %s, %s, simulated', (...subject) => {
  simulated(subject, specimen);
});

describe('npm run new-driver', () => {
  it.each([
    ['photometer', 'value 12.5000 *43'],
    ['heart-rate', 'value 72 *6E'],
    ['breathing', 'value 12.5 *73'],
    ['pressure-flow', 'value 12.5 *73'],
  ])('writes one of the kind %s, which knows the line of its README', async (kind, line) => {
    const { manifest: made } = await written(kind);
    const identification = made.identify?.(parseSettings(made, 'own', {}));
    expect(identification?.recognise(textToBytes(`${line}\n${line}\n`))).not.toBeNull();
  });

  it.each([
    [['own-lines', '--kind', 'climate'], 'is there already'],
    [['other', '--kind', 'ergometer'], 'begin with a copy of drivers/ergometer/lines'],
    [['other', '--kind', 'kettle'], 'there is no kind kettle'],
    [['../other', '--kind', 'climate'], 'is no name of a dialect'],
    [['--kind', 'climate'], 'usage'],
  ])('refuses %j', (words, says) => {
    const all = [command, ...words, '--into', drivers];
    const { status, stderr } = spawnSync(process.execPath, all, { encoding: 'utf8' });
    expect(status).toBe(2);
    expect(stderr).toContain(says);
    rmSync(join(drivers, 'other'), { recursive: true, force: true });
  });
});
