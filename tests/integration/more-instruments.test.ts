import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ConnectionSettings, Snapshot } from '../../src/bridge/snapshot.ts';
import type { Connection } from '../../src/device/transport.ts';
import { replayBytes } from '../../src/host/replay/replay-bytes.ts';
import { startRigProcess } from '../../src/host/rig/start-rig-process.ts';
import type { RigProcess } from '../../src/host/rig/start-rig-process.ts';
import { readTrial, readWire } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { InstrumentConfiguration } from '../../src/model/rig.ts';
import type { WatchedLimit } from '../../src/model/watched-limit.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { startInstruments } from '../support/instruments/start-instruments.ts';
import type { StartedInstruments } from '../support/instruments/start-instruments.ts';
import { driveRuntime } from '../support/runtime/drive.ts';
import type { Driver } from '../support/runtime/drive.ts';

/** How long is recorded, s. */
const recordedSeconds = 12;
const folder = temporaryFolder();
let chamber: RigProcess;
let instruments: StartedInstruments;
let driver: Driver;
let file = '';
let trial = '';
let open: Snapshot;
let record: TrialRecord;

const more: readonly InstrumentConfiguration[] = [
  { instrument: 'chamber-air', kind: 'climate', dialect: 'modbus-registers', settings: { intervalSeconds: 0.2 } },
  {
    instrument: 'cold-air',
    kind: 'climate',
    dialect: 'modbus-registers',
    settings: { address: 2, intervalSeconds: 0.2 },
  },
  { instrument: 'flow', kind: 'breathing', dialect: 'flow-lines', settings: {} },
  { instrument: 'breaths', kind: 'breathing', dialect: 'breath-lines', settings: {} },
];
const lineOf = { 'chamber-air': 'bus', 'cold-air': 'bus', flow: 'flow', breaths: 'breaths' } as const;

/** The air of one of the two is too cold from the first value on; the other's never is. */
const cold: WatchedLimit = {
  name: 'air-cold',
  title: 'Air too cold',
  instrument: 'cold-air',
  stream: 'temperature',
  unit: 'degC',
  side: 'below',
  limit: 10,
  holdSeconds: 2,
  clearBy: 1,
  priority: 'low',
  action: 'Let the subject warm up.',
  source: 'the responsible person',
};
const warm: WatchedLimit = { ...cold, name: 'chamber-cold', title: 'Chamber too cold', instrument: 'chamber-air' };
let refusedUnit = '';
let watched: Snapshot;

function settingsOf(connection: Connection | undefined): ConnectionSettings {
  if (connection?.transport !== 'serial') throw new Error('not on a pseudo-terminal');
  return { kind: 'serial', path: connection.path, baudRate: connection.baudRate };
}

beforeAll(async () => {
  [chamber, instruments] = await Promise.all([
    startRigProcess({ wire: 'pty', scenario: 'short', seed: 4, truthFile: null }),
    startInstruments(),
  ]);
  driver = await driveRuntime({ folder: folder.path });
  const { procedures, window } = driver;
  await procedures.person.add({ code: 'anna', name: 'Anna', roles: ['operator'], pin: '4711' }, window);
  await procedures.person.choose({ code: 'anna' }, window);
  const { rig } = chamber;
  const unwatched = { ...rig, name: 'Bench', instruments: [...rig.instruments, ...more] };
  const bench = { ...unwatched, watch: [cold, warm] };
  const other = { ...cold, unit: 'one' as const };
  refusedUnit = await procedures.rig.save({ rig: { ...bench, watch: [other] } }, window).then(String, String);
  await procedures.rig.save({ rig: unwatched }, window);
  await procedures.rig.open({ name: 'Bench' }, window);
  // Changed while it is open, as its form does: what was saved takes the place of what was open.
  await procedures.rig.save({ rig: bench }, window);
  await procedures.rig.open({ name: 'Bench' }, window);
  for (const { instrument } of rig.instruments) {
    await procedures.rig.connect({ instrument, settings: settingsOf(chamber.connections.get(instrument)) }, window);
  }
  for (const [instrument, line] of Object.entries(lineOf)) {
    const settings = { kind: 'serial', path: instruments.lines[line], baudRate: 115_200 } as const;
    await procedures.rig.connect({ instrument, settings }, window);
  }
  await driver.until('live instruments', ({ rig: now }) => now.instruments.every(({ state }) => state === 'live'));
  // One breath takes two seconds: what is shown of it has to have come.
  await driver.until('a breath', ({ rig: now }) =>
    now.instruments.every(({ kind, readings }) => kind === 'selector-valve' || readings > 0),
  );
  driver.send({ message: 'subscribe', streams: driver.runtime.snapshot().rig.streams.map((_, index) => index) });
  open = driver.runtime.snapshot();
  ({ file } = await procedures.study.create({ name: 'Everything that there is' }, window));
  ({ trial } = await procedures.trial.prepare(driver.plan(file), window));
  await driver.command('start');
  await new Promise((resolve) => setTimeout(resolve, recordedSeconds * 1000));
  watched = driver.runtime.snapshot();
  await driver.command('stop', 'long enough');
  await driver.command('close');
  await driver.until('the end', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 60);
  record = readTrial(join(folder.path, file), trial);
}, 180_000);

afterAll(async () => {
  await driver.end();
  await Promise.all([chamber.stop(), instruments.stop()]);
  folder.clear();
});

const values = (instrument: string, stream: string): number[] => {
  const found = record.streams.find(
    ({ descriptor }) => descriptor.instrument === instrument && descriptor.stream === stream,
  );
  return [...(found?.values ?? [])];
};

describe('climate and breathing beside photometer, valve and belt', () => {
  it('are shown by the open rig, with their streams and newest values', () => {
    const shown = open.rig.instruments.map(({ instrument, state }) => [instrument, state]);
    expect(shown).toEqual(open.rig.rig?.instruments.map(({ instrument }) => [instrument, 'live']));
    const streams = open.rig.streams.map(({ instrument, stream }) => `${instrument} ${stream}`);
    expect(streams).toEqual(
      expect.arrayContaining(['chamber-air temperature', 'cold-air humidity', 'flow flow', 'breaths ventilation']),
    );
    const sent = new Set(driver.frames.flatMap(({ kind, stream }) => (kind === 'live' ? [stream] : [])));
    for (const [index, stream] of open.rig.streams.entries()) {
      if (stream.stream !== 'energy') expect(sent, `${stream.instrument} ${stream.stream}`).toContain(index);
    }
  });

  it('are recorded in the trial, each at its own rate', () => {
    expect(values('flow', 'flow').length).toBeGreaterThan(recordedSeconds * 90);
    expect(Math.max(...values('flow', 'flow'))).toBeCloseTo(60, 0);
    expect(Math.min(...values('flow', 'flow'))).toBeCloseTo(-60, 0);
    expect(values('breaths', 'tidal-volume').length).toBeGreaterThanOrEqual(recordedSeconds / 2 - 1);
    expect(new Set(values('breaths', 'ventilation'))).toEqual(new Set([37.5]));
    const photometer = record.streams.find(({ descriptor }) => descriptor.stream === 'concentration');
    expect(photometer?.values.length).toBeGreaterThan(recordedSeconds * 15);
  });

  it('get their own answers on the line that two of them share', () => {
    for (const [instrument, temperature, humidity] of [
      ['chamber-air', 21.5, 41],
      ['cold-air', 4.5, 42],
    ] as const) {
      const temperatures = values(instrument, 'temperature');
      expect(temperatures.length).toBeGreaterThan(recordedSeconds * 4);
      expect(new Set(temperatures)).toEqual(new Set([temperature]));
      expect(new Set(values(instrument, 'humidity'))).toEqual(new Set([humidity]));
    }
    const problems = record.events.flatMap((event) => (event.kind === 'problem' ? [event.problem] : []));
    expect(problems.filter(({ instrument }) => instrument.endsWith('-air'))).toEqual([]);
    const cold = open.rig.instruments.find(({ instrument }) => instrument === 'cold-air');
    expect(cold?.connection).toContain('shared');
  });

  it('are held against the limits of the rig: an alarm of the one that is beyond its own, recorded and told', () => {
    const raised = record.events.filter((event) => event.kind === 'alarm-raised' && event.alarm.startsWith('limit-'));
    expect(raised).toMatchObject([{ alarm: 'limit-air-cold', instrument: 'cold-air' }]);
    expect(raised).toMatchObject([{ detail: 'temperature 4.5 °C, below 10 °C for 2 s.' }]);
    const first = record.streams.find(({ descriptor }) => descriptor.instrument === 'cold-air')?.atMicroseconds[0] ?? 0;
    const lateSeconds = ((raised[0]?.atMicroseconds ?? 0) - first) / 1e6 - cold.holdSeconds;
    expect(lateSeconds).toBeGreaterThanOrEqual(0);
    expect(lateSeconds).toBeLessThan(1);
    expect(watched.alarms.find(({ alarm }) => alarm === 'limit-air-cold')).toMatchObject({
      ...{ title: 'Air too cold', priority: 'low', action: 'Let the subject warm up.', lastedSeconds: null },
    });
    expect(record.rig.watch).toEqual([cold, warm]);
    expect(refusedUnit).toMatch(/configuration-invalid|cold-air\/temperature is in °C, and the limit in no unit/);
  });

  it('leave a record that is intact, and says the same again when its bytes go through the drivers', async () => {
    const path = join(folder.path, file);
    expect(verify(path)).toMatchObject({ intact: true, trials: [{ sealed: true }] });
    for (const comparison of await replayBytes(path, trial)) {
      expect(comparison.differences, comparison.instrument).toEqual([]);
      expect(comparison.atEdge, comparison.instrument).toBeLessThanOrEqual(4);
    }
    const out = readWire(path, trial, 'chamber-air').filter(({ direction }) => direction === 'out');
    expect(out.length).toBeGreaterThan(recordedSeconds * 4);
  });
});
