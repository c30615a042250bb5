import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import type { CheckBeginning } from '../../src/bridge/checks.ts';
import { snapshotSchema } from '../../src/bridge/snapshot.ts';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import { checkDefinitions } from '../../src/calibration/check/definitions.ts';
import type { CheckKind } from '../../src/calibration/check/vocabulary.ts';
import { startRigProcess } from '../../src/host/rig/start-rig-process.ts';
import type { RigProcess } from '../../src/host/rig/start-rig-process.ts';
import { laboratoryFile } from '../../src/host/runtime/folder.ts';
import { openLaboratory } from '../../src/host/store/laboratory.ts';
import { listTrials, readTrial } from '../../src/host/store/read.ts';
import { openTransport } from '../../src/host/transport/open.ts';
import type { Connection } from '../../src/device/transport.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { ConnectionSettings } from '../../src/bridge/snapshot.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { driveRuntime } from '../support/runtime/drive.ts';
import type { Driver } from '../support/runtime/drive.ts';
import { writeQuickScenario } from '../support/runtime/quick-scenario.ts';

const folder = temporaryFolder();
beforeAll(() => void writeQuickScenario(folder.path, ['march']));
afterAll(() => folder.clear());

let driver: Driver;
beforeEach(async () => {
  driver = await driveRuntime({ folder: folder.path, virtualRigWire: 'tcp' });
});
afterEach(() => driver.end());

const refused = (code: string): unknown => expect.objectContaining({ code });

describe('a host', () => {
  it('begins with nothing open, and says so in a snapshot that keeps to the schema', () => {
    const snapshot = snapshotSchema.parse(driver.runtime.snapshot());
    expect(snapshot).toMatchObject({
      person: null,
      rig: { state: 'closed', rig: null, streams: [], virtualRig: null },
      trial: null,
      alarms: [],
      limitsWatched: 0,
      record: null,
      host: { folder: folder.path, windows: 1 },
    });
    const offered = ['demo', 'laminate', 'sharp', 'short', 'cycle', 'breathing-zone'];
    expect(snapshot.scenarios.map(({ scenario }) => scenario)).toEqual(offered);
    expect(snapshot.series.length).toBeGreaterThanOrEqual(2);
    expect(driver.runtime.clock().trialMicroseconds).toBeNull();
  });

  it('refuses what cannot be, and says what to do', async () => {
    const { procedures, window } = driver;
    await expect(procedures.person.choose({ code: 'nobody' }, window)).rejects.toThrow(refused('person-not-found'));
    await expect(
      procedures.person.add({ code: 'x', name: 'X', roles: ['operator'], pin: 'abcd' }, window),
    ).rejects.toThrow(refused('usage-bad-value'));
    await expect(procedures.rig.open({ name: 'none' }, window)).rejects.toThrow(refused('configuration-invalid'));
    await expect(procedures.rig.selectPort({ port: 1 }, window)).rejects.toThrow(refused('action-refused'));
    await expect(procedures.rig.startVirtual({ scenario: '/etc/x.json', seed: 1 }, window)).rejects.toThrow(
      refused('action-refused'),
    );
    for (const file of ['../outside.chamberside', 'missing.chamberside', 'quick.json']) {
      await expect(procedures.trial.resume({ file, trial: 't-000000000000' }, window)).rejects.toThrow(
        refused('file-not-found'),
      );
    }
    expect(driver.runtime.snapshot().rig.state).toBe('closed');
  });

  it('checks the open rig step by step, keeps what was recorded, and remembers it with the laboratory', async () => {
    const { procedures, window } = driver;
    const choice = (check: CheckKind, subject: string | null = null): CheckBeginning => ({
      check,
      subject,
      condition: 'routine',
      validDays: 1,
    });
    await driver.setUp();
    await procedures.rig.beginCheck(choice('zero'), window);
    await expect(procedures.rig.beginCheck(choice('span'), window)).rejects.toThrow(refused('action-refused'));
    await expect(procedures.rig.selectPort({ port: 1 }, window)).rejects.toThrow(refused('action-refused'));
    await expect(procedures.rig.answerCheck({ answers: {} }, window)).rejects.toThrow(refused('action-refused'));
    const stepOf = ({ rig: { checks } }: Snapshot): string | undefined =>
      checks.running?.steps[checks.running.at]?.step;
    await driver.until('reading', (snapshot) => stepOf(snapshot) === 'read');
    snapshotSchema.parse(driver.runtime.snapshot());
    await driver.until('the zero', ({ rig }) => rig.checks.running === null && rig.checks.results.length === 1);
    await procedures.rig.beginCheck(choice('span'), window);
    await procedures.rig.cancelCheck({}, window);
    await driver.until('the end of the cancelled one', ({ rig }) => rig.checks.running === null);
    expect(driver.runtime.snapshot().rig.checks.results).toHaveLength(1);
    await procedures.rig.beginCheck(choice('span'), window);
    await driver.until('the span', ({ rig }) => rig.checks.results.length === 2);
    // A line with a filter on it, whose joint lets chamber air in: hands are virtual here.
    driver.runtime.injectFault({ fault: 'line-leaks', probe: 'ankle', percent: 1, seconds: 600 });
    await procedures.rig.beginCheck({ ...choice('line-leak', 'ankle'), condition: 'as-found' }, window);
    for (const part of ['line', 'end']) {
      await driver.until(part, (snapshot) => {
        const { running } = snapshot.rig.checks;
        const step = running?.steps[running.at];
        return step?.step === 'ask' && step.part === part;
      });
      await expect(procedures.rig.answerCheck({ answers: { other: 1 } }, window)).rejects.toThrow(
        refused('usage-bad-value'),
      );
      await procedures.rig.answerCheck({ answers: {} }, window);
    }
    await driver.until('the leak', ({ rig }) => rig.checks.running === null && rig.checks.results.length === 3);
    const snapshot = snapshotSchema.parse(driver.runtime.snapshot());
    const { results } = snapshot.rig.checks;
    const nominal = snapshot.rig.rig?.challenge.nominal ?? 0;
    expect(results.map(({ result: { check, passed, person } }) => [check, passed, person])).toEqual([
      ['zero', true, 'anna'],
      ['span', true, 'anna'],
      ['line-leak', false, 'anna'],
    ]);
    const [zero, span, leak] = results.map(({ result }) => result.figures[0]?.value ?? Number.NaN);
    expect(Math.abs(zero ?? NaN)).toBeLessThan(0.01 * nominal);
    expect(Math.abs((span ?? NaN) / nominal - 1)).toBeLessThan(0.2);
    expect(leak).toBeCloseTo(1, 1);
    const number = results[1]?.number ?? 0;
    const { ground } = await procedures.rig.checkGround({ number }, window);
    expect(ground?.record.streams[0]?.values.length).toBeGreaterThan(30);
    const again = ground === null ? null : checkDefinitions.span.evaluate(ground.record, ground.rig);
    expect(again?.figures).toEqual(results[1]?.result.figures);
    await expect(procedures.rig.checkGround({ number: 99 }, window)).rejects.toThrow(refused('check-not-found'));
    expect(await procedures.rig.checkHistory({ check: 'span', subject: null }, window)).toEqual([results[1]]);
    await procedures.rig.close({}, window);
    expect(driver.runtime.snapshot().rig).toMatchObject({ state: 'closed', streams: [] });
    await procedures.rig.startVirtual({ scenario: 'quick.json', seed: 4 }, window);
    expect(driver.runtime.snapshot().rig.checks.results).toEqual(results);
  });
});

describe('a trial whose windows go', () => {
  it('is not held by a reload, is held when none comes back, and ends unfinished with the host', async () => {
    const { procedures, runtime, window } = driver;
    const { file } = await driver.setUp();
    /** For each time the host was left alone: was a trial under way, and was it held by then? */
    const alone: unknown[] = [];
    runtime.onAlone((trialUnderWay) => alone.push([trialUnderWay, runtime.snapshot().trial?.phase ?? null]));
    runtime.windowClosed(window);
    await vi.waitFor(() => expect(alone).toEqual([[false, null]]), { timeout: 6_000 });
    runtime.windowOpened(window);
    await expect(procedures.trial.preview({ ...driver.plan(file), heartRateLimit: null }, window)).rejects.toThrow(
      refused('action-refused'),
    );
    const preview = await procedures.trial.preview(driver.plan(file), window);
    expect(preview.exercises.map(({ exercise, dwells }) => [exercise, dwells.length])).toEqual([['march', 2]]);
    expect(preview.warnings.some((warning) => warning.includes('span'))).toBe(false);
    const { trial } = await procedures.trial.prepare(driver.plan(file), window);
    // Those of the test above, as the laboratory keeps them: a trial says what it rests on.
    expect(driver.trial().header.checks?.map(({ name, standing }) => [name, standing])).toEqual([
      ['zero', 'valid'],
      ['span', 'valid'],
      ['line leak, Ankle', 'failed'],
    ]);
    await expect(procedures.trial.prepare(driver.plan(file), window)).rejects.toThrow(refused('action-refused'));
    await expect(procedures.rig.close({}, window)).rejects.toThrow(refused('action-refused'));
    await driver.command('start');
    expect(driver.trial().allowed).toEqual(['hold', 'repeat', 'stop', 'mark']);
    await expect(driver.command('extend-rest')).rejects.toMatchObject({
      code: 'action-refused',
      what: 'There is no rest now: a rest is lengthened before its exercise has begun.',
    });
    expect(runtime.snapshot().limitsWatched).toBeGreaterThan(8);
    await expect(procedures.rig.selectPort({ port: 1 }, window)).rejects.toThrow(refused('action-refused'));
    await driver.command('mark', 'a cough');
    await driver.until('the mark', ({ trial: now }) => now?.notes.at(-1)?.kind === 'mark');
    expect(driver.trial().notes.at(-1)).toMatchObject({ kind: 'mark', text: 'a cough', person: 'anna' });

    runtime.windowClosed(window);
    await new Promise((resolve) => setTimeout(resolve, 1500));
    runtime.windowOpened({ window: 2 });
    await new Promise((resolve) => setTimeout(resolve, 2500));
    expect(driver.trial().phase).toBe('running');
    expect(alone).toHaveLength(1);

    runtime.windowClosed({ window: 2 });
    await driver.until('the hold', ({ trial: now }) => now?.phase === 'held', 6);
    expect(alone.slice(1)).toEqual([[true, 'held']]);
    expect(runtime.snapshot().alarms).toMatchObject([
      { alarm: 'window-lost', priority: 'medium', lastedSeconds: null },
    ]);
    runtime.windowOpened({ window: 3 });
    await driver.until('company', ({ alarms }) => alarms[0]?.lastedSeconds !== null);
    const acknowledged = { alarm: 'window-lost', instrument: null, reason: 'seen' };
    await procedures.alarm.acknowledge(acknowledged, window);
    expect(runtime.snapshot().alarms).toEqual([]);
    await procedures.rig.selectPort({ port: 6 }, window);
    expect(runtime.snapshot().rig.valve).toMatchObject({ confirmedPort: 6, state: 'confirmed' });
    await procedures.person.choose({ code: null }, window);
    await expect(driver.command('go-on')).rejects.toThrow(refused('person-missing'));
    await procedures.person.choose({ code: 'anna' }, window);
    await driver.command('go-on');
    await driver.until('running again', ({ trial: now }) => now?.phase === 'running');

    await driver.end();
    const path = join(folder.path, file);
    expect(listTrials(path)).toMatchObject([{ trial, phase: 'held', sealed: null }]);
    const { events } = readTrial(path, trial);
    const notes = events.flatMap((event) => (event.kind === 'mark-noted' ? [event.note] : []));
    expect(notes).toEqual(['a cough']);
    const byHand = events.flatMap((event) => (event.kind === 'valve-by-hand' ? [[event.port, event.person]] : []));
    expect(byHand).toEqual([[6, 'anna']]);
    const actions = events.flatMap((event) => (event.kind === 'operator-action' ? [[event.action, event.person]] : []));
    expect(actions).toEqual([
      ['start', 'anna'],
      ['hold', 'host'],
      ['go-on', 'anna'],
      ['hold', 'host'],
    ]);
  });

  it('is held, and says why, when the process of the virtual rig ends', async () => {
    const { procedures, runtime, window } = driver;
    const { file } = await driver.setUp();
    await driver.until('live', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
    await procedures.trial.prepare(driver.plan(file), window);
    await driver.command('start');
    await driver.until('running', ({ trial: now }) => now?.phase === 'running');
    const rigProcess = runtime.snapshot().rig.virtualRig?.processId;
    if (rigProcess === undefined || rigProcess === null) throw new Error('the virtual rig has no process');
    process.kill(rigProcess, 'SIGKILL');
    await driver.until('the hold', ({ trial: now }) => now?.phase === 'held', 5);
    const { alarms, rig, trial } = runtime.snapshot();
    expect(rig).toMatchObject({ state: 'failed', failure: { code: 'rig-process-failed' } });
    expect(alarms.map(({ alarm }) => alarm)).toContain('rig-ended');
    expect(trial?.reason).toContain('The process of the virtual rig has ended');
    // What can still be done: end it, and begin anew.
    await driver.command('stop');
    await driver.command('close');
    // Hardly anything was measured: the record is sealed, and there may be no result.
    await driver.until('the end', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 30);
    await procedures.trial.leave({}, window);
    await procedures.rig.close({}, window);
    expect(runtime.snapshot().rig.state).toBe('closed');
  }, 60_000);

  it('can be stopped by somebody who has not said who they are', async () => {
    const { procedures, window } = driver;
    const { file } = await driver.setUp();
    const { trial } = await procedures.trial.prepare(driver.plan(file), window);
    await driver.command('start');
    await procedures.person.choose({ code: null }, window);
    await driver.command('stop');
    expect(driver.trial()).toMatchObject({ phase: 'stopped', now: { kind: 'stopped' } });
    await procedures.person.choose({ code: 'anna' }, window);
    await driver.command('close');
    // Nothing was measured: there is a sealed record and no result.
    await driver.until('the end', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 20);
    const result = await procedures.trial.result({ file, trial }, window);
    expect(result.sealed).not.toBeNull();
    await procedures.trial.leave({}, window);
    expect(driver.runtime.snapshot().trial).toBeNull();
    await procedures.rig.close({}, window);
  });
});

describe('a rig whose photometer is in volts', () => {
  const inVolts = (rig: Rig): Rig => ({
    ...rig,
    name: 'Volts',
    instruments: rig.instruments.map((one) =>
      one.instrument === rig.photometer ? { ...one, settings: { ...one.settings, unit: 'V' } } : one,
    ),
  });

  it('is refused when it is saved, and when it was kept before it could be refused', async () => {
    const { procedures, window } = driver;
    const rig = inVolts(await procedures.rig.template({}, window));
    await expect(procedures.rig.save({ rig }, window)).rejects.toThrow(refused('configuration-invalid'));
    await driver.end();
    const laboratory = openLaboratory(join(folder.path, laboratoryFile));
    laboratory.put('rig', rig);
    laboratory.close();
    driver = await driveRuntime({ folder: folder.path, virtualRigWire: 'tcp' });
    expect(driver.runtime.snapshot().rigs.map(({ name }) => name)).toContain('Volts');
    await expect(driver.procedures.rig.open({ name: 'Volts' }, driver.window)).rejects.toThrow(
      'photometer delivers concentration in V, a unit of voltage, which tells no concentration (rig Volts, ',
    );
    expect(driver.runtime.snapshot().rig.state).toBe('closed');
  });
});

describe('a rig of the laboratory', () => {
  let instruments: RigProcess;
  beforeEach(async () => {
    instruments = await startRigProcess({ wire: 'tcp', scenario: 'short', seed: 1, truthFile: null });
  });
  afterEach(() => instruments.stop());

  const settingsOf = (connection: Connection | undefined): ConnectionSettings => {
    if (connection?.transport !== 'tcp') throw new Error('not on TCP');
    return { kind: 'tcp', host: connection.host, port: connection.port };
  };

  it('is saved, opened where its instruments are said to be, repaired, and given back', async () => {
    const { procedures, window } = driver;
    const template = await procedures.rig.template({}, window);
    expect(template.virtual).toBe(false);
    const rig = { ...template, name: 'Bench' };
    const { version } = await procedures.rig.save({ rig }, window);
    await procedures.rig.open({ name: 'Bench' }, window);
    expect(driver.runtime.snapshot().rig.instruments.map(({ state }) => state)).toEqual(
      rig.instruments.map(() => 'unconnected'),
    );
    const nowhere: ConnectionSettings = { kind: 'serial', path: '/dev/no-such-port', baudRate: 115_200 };
    await procedures.rig.connect({ instrument: 'photometer', settings: nowhere }, window).catch(() => undefined);
    await driver.until('what cannot be reached', ({ rig: now }) => now.instruments[0]?.state === 'unreached');
    expect(driver.runtime.snapshot().rig.instruments[0]?.detail).toContain('there is no port /dev/no-such-port');
    for (const { instrument } of rig.instruments) {
      const settings = settingsOf(instruments.connections.get(instrument));
      await procedures.rig.connect({ instrument, settings }, window);
    }
    await driver.until('live instruments', (snapshot) =>
      snapshot.rig.instruments.every(({ state }) => state === 'live'),
    );
    expect(driver.runtime.snapshot().rig).toMatchObject({ state: 'open', virtualRig: null });
    instruments.inject({ fault: 'unplug', instrument: 'photometer', seconds: 0.5, newName: true });
    await driver.until('the loss', ({ rig: now }) => now.instruments[0]?.state === 'lost');
    const returned = new Promise<Connection>((resolve) => {
      instruments.onCable((change) => {
        if (change.state === 'back') resolve(change.connection);
      });
    });
    const settings = settingsOf(await returned);
    await procedures.rig.connect({ instrument: 'photometer', settings }, window);
    await driver.until('its return', ({ rig: now }) => now.instruments[0]?.state === 'live');
    instruments.inject({
      fault: 'wire',
      instrument: 'photometer',
      wire: { fault: 'silence', seconds: 4 },
    });
    await driver.until('silence', ({ rig: now }) => now.instruments[0]?.state === 'silent');
    await procedures.rig.close({}, window);
    const again = await openTransport(
      {
        transport: 'tcp',
        host: settings.kind === 'tcp' ? settings.host : '',
        port: settings.kind === 'tcp' ? settings.port : 0,
      },
      () => 0,
    );
    await again.close();

    await driver.end();
    driver = await driveRuntime({ folder: folder.path, virtualRigWire: 'tcp' });
    expect(driver.runtime.snapshot().rigs).toContainEqual({ name: 'Bench', version, virtual: false });
    await driver.procedures.rig.open({ name: 'Bench' }, driver.window);
    await driver.until('live without a word', (snapshot) =>
      snapshot.rig.instruments.every(({ state }) => state === 'live'),
    );
  });

  it('is marked as virtual by whoever connects it, and its trial carries the mark to the result', async () => {
    const { procedures, window } = driver;
    const template = await procedures.rig.template({}, window);
    await procedures.rig.save({ rig: { ...template, name: 'Started by hand', virtual: true } }, window);
    await procedures.rig.open({ name: 'Started by hand' }, window);
    // The mark does not make it a rig of the program's own: somebody has to say where its instruments are.
    expect(driver.runtime.snapshot().rig).toMatchObject({ virtualRig: null, rig: { virtual: true } });
    expect(driver.runtime.snapshot().rig.instruments[0]?.state).toBe('unconnected');
    expect(driver.runtime.snapshot().rigs).toContainEqual(expect.objectContaining({ virtual: true }));
    for (const { instrument } of template.instruments) {
      const settings = settingsOf(instruments.connections.get(instrument));
      await procedures.rig.connect({ instrument, settings }, window);
    }
    await driver.until('live instruments', ({ rig: now }) => now.instruments.every(({ state }) => state === 'live'));
    await procedures.person.add({ code: 'bert', name: 'Bert', roles: ['operator'], pin: '4711' }, window);
    await procedures.person.choose({ code: 'bert' }, window);
    const { file } = await procedures.study.create({ name: 'By hand' }, window);
    const { trial } = await procedures.trial.prepare(driver.plan(file), window);
    expect(driver.trial().header).toMatchObject({ trial, virtual: true });
    await driver.command('start');
    await driver.command('stop');
    await driver.command('close');
    await driver.until('the end', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 20);
    const result = await procedures.trial.result({ file, trial }, window);
    expect(result.header).toMatchObject({ virtual: true });
    expect(result.header.rehearsal).toBeUndefined();
    const record = readTrial(join(folder.path, file), trial);
    expect(record.header.virtual).toBe(true);
    expect(record.rig.virtual).toBe(true);
    await procedures.trial.leave({}, window);
  });
});
