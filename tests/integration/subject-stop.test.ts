import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { scenarioNamed } from '../../drivers/virtual-rig/index.ts';
import type { Scenario } from '../../drivers/virtual-rig/index.ts';
import { replayBytes } from '../../src/host/replay/replay-bytes.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { TrialEvent } from '../../src/model/trial-event.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { chamberside, temporaryFolder } from '../support/command-line.ts';
import type { PrintedRehearsal } from '../support/rehearsal.ts';
import { driveRuntime, type Driver } from '../support/runtime/drive.ts';
import { quickScenario, quickScenarioOf } from '../support/runtime/quick-scenario.ts';

const folder = temporaryFolder();
let driver: Driver | undefined;
afterEach(async () => {
  await driver?.end();
  driver = undefined;
});
afterAll(() => folder.clear());

const short = scenarioNamed('short');
if (short === undefined) throw new Error('the short scenario is missing');
const quick = quickScenarioOf(short, ['march', 'crawl']);

/** Rehearses in virtual time; the report is made from the study. */
async function rehearse(name: string, change: Partial<Scenario>) {
  const scenario = folder.file(`${name}.json`);
  writeFileSync(scenario, JSON.stringify({ ...quick, name, ...change }));
  const study = folder.file(`${name}.chamberside`);
  const outcome = await chamberside('rehearse', '--study', study, '--scenario', scenario, '--seed', '7', '--json');
  const printed = outcome.stdout === '' ? null : (JSON.parse(outcome.stdout) as PrintedRehearsal);
  return { study, outcome, printed };
}

const alarmsOf = (record: TrialRecord, alarm: string): TrialEvent[] =>
  record.events.filter(
    (event) => (event.kind === 'alarm-raised' || event.kind === 'alarm-cleared') && event.alarm === alarm,
  );
const phasesOf = (record: TrialRecord): string[] =>
  record.events.flatMap((event) => (event.kind === 'phase-changed' ? [event.to] : []));

describe('a subject who presses stop in the middle of an exercise', () => {
  const pressedSeconds = 47;

  it('stops the trial: in the record, in the chain, from the bytes again, and in the report', async () => {
    const fault = { fault: 'subject-stop', seconds: 3 } as const;
    const { study, printed, outcome } = await rehearse('pressed', { faults: [{ atSeconds: pressedSeconds, fault }] });
    if (printed === null) throw new Error(outcome.stderr);
    const record = readTrial(study, printed.trialId);
    const stop = record.events.find((event) => event.kind === 'operator-action' && event.action === 'stop');
    expect(stop).toMatchObject({
      person: 'subject',
      note: 'The subject pressed stop: hand stop.',
      source: { source: 'contact', instrument: 'contacts', stream: 'stop' },
    });
    // A change is told at once; the rest is the way of the bytes.
    expect(stop?.atMicroseconds).toBe(pressedSeconds * 1e6);
    expect(phasesOf(record)).toEqual(['running', 'stopped', 'closed']);
    expect(alarmsOf(record, 'subject-stop')).toMatchObject([
      { kind: 'alarm-raised', instrument: 'contacts', atMicroseconds: pressedSeconds * 1e6 },
      { kind: 'alarm-cleared' },
    ]);
    // Alarm, then reading, then what it does to the trial.
    const atOnce = record.events.filter((event) => event.atMicroseconds === pressedSeconds * 1e6);
    const order = atOnce.map(({ kind }) => kind);
    expect(order.slice(0, 2)).toEqual(['alarm-raised', 'operator-action']);
    expect(order).toContain('exercise-ended');
    const presses = record.streams.find(({ descriptor }) => descriptor.stream === 'stop');
    expect(new Set(presses?.values)).toEqual(new Set([0, 1]));
    expect(verify(study).intact).toBe(true);
    for (const { differences, instrument } of await replayBytes(study, printed.trialId)) {
      expect(differences, instrument).toEqual([]);
    }
    const page = folder.file('pressed.html');
    const report = await chamberside('report', '--study', study, '--trial', printed.trialId, '--out', page);
    expect(report.stderr).toBe('');
    const text = readFileSync(page, 'utf8');
    expect(text).toContain('The subject stopped it.');
    expect(text).toContain('Subject: stop');
    expect(text).toContain('hand stop');
  });

  it('stops it as well by a wire that is cut, because the contact is closed at rest', async () => {
    const fault = { fault: 'contact', contact: 'stop', failure: 'wire-cut', seconds: 600 } as const;
    const { study, printed } = await rehearse('cut', { faults: [{ atSeconds: 47, fault }] });
    const record = readTrial(study, printed?.trialId ?? '');
    expect(phasesOf(record)).toEqual(['running', 'stopped', 'closed']);
    expect(alarmsOf(record, 'subject-stop')).toHaveLength(1);
  });

  it('is not heard through a stop that sticks: it has to be tried before', async () => {
    const { study, printed } = await rehearse('stuck', {
      faults: [
        { atSeconds: 40, fault: { fault: 'contact', contact: 'stop', failure: 'stuck', seconds: 600 } },
        { atSeconds: 47, fault: { fault: 'subject-stop', seconds: 3 } },
      ],
    });
    expect(phasesOf(readTrial(study, printed?.trialId ?? ''))).toEqual(['running', 'closed']);
  });
});

describe('a stop that is not heard', () => {
  it('is a high alarm no later than its limit and a second, and does not end the trial', async () => {
    const { study, printed } = await rehearse('silent', {
      faults: [
        {
          atSeconds: 30,
          fault: { fault: 'wire', instrument: 'contacts', wire: { fault: 'silence', seconds: 4 } },
        },
        { atSeconds: 45, fault: { fault: 'unplug', instrument: 'contacts', seconds: 3, newName: false } },
      ],
    });
    const record = readTrial(study, printed?.trialId ?? '');
    expect(phasesOf(record)).toEqual(['running', 'closed']);
    const lost = alarmsOf(record, 'stop-contact-lost');
    expect(lost.map(({ kind }) => kind)).toEqual(['alarm-raised', 'alarm-cleared', 'alarm-raised', 'alarm-cleared']);
    const limit = record.streams.find(({ descriptor }) => descriptor.stream === 'stop')?.descriptor.silenceLimitSeconds;
    expect(limit).toBe(1);
    const [silent = 0, , pulled = 0] = lost.map(({ atMicroseconds }) => atMicroseconds / 1e6);
    expect(silent).toBeGreaterThan(30);
    expect(silent).toBeLessThanOrEqual(30 + (limit ?? 0) + 1);
    // A cable that is pulled is known at once.
    expect(pulled).toBe(45);
    expect(alarmsOf(record, 'silence-stop')).toEqual([]);
  });

  it('bars the start: nothing is rehearsed, and why is said', async () => {
    const stuckOpen = { fault: 'contact', contact: 'stop', failure: 'wire-cut', seconds: 600 } as const;
    // This one is asked, so that nothing is heard of it before the fault.
    const instruments = quick.rig.instruments.map((one) =>
      one.kind === 'contact' ? { ...one, dialect: 'modbus', settings: {} } : one,
    );
    const rig = { ...quick.rig, instruments };
    const { outcome } = await rehearse('barred', { rig, faults: [{ atSeconds: 0, fault: stuckOpen }] });
    expect(outcome.status).not.toBe(0);
    expect(outcome.stderr).toContain('stop is pressed');
  });
});

describe('on the live host over real wires', () => {
  it('is armed before the start, tried, stops the trial at once, and is shown', async () => {
    writeFileSync(join(folder.path, quickScenario), JSON.stringify({ ...quick, series: { ...quick.series } }));
    driver = await driveRuntime({ folder: folder.path });
    const running = driver;
    const { file } = await running.setUp();
    await running.until('every instrument', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
    const { trial } = await running.procedures.trial.prepare(running.plan(file), running.window);
    await running.until('an armed stop', ({ trial: now }) => now?.subjectStop === 'armed', 5);
    expect(running.trial().allowed).toContain('start');

    // Tried before the start: an alarm, no stop, and no start while it lasts.
    running.runtime.injectFault({ fault: 'subject-stop', seconds: 1 });
    await running.until('the press', ({ trial: now }) => now?.subjectStop === 'pressed', 3);
    expect(running.trial().phase).toBe('prepared');
    expect(running.trial().allowed).not.toContain('start');
    await expect(running.command('start')).rejects.toMatchObject({ code: 'action-refused' });
    await running.until('its end', ({ trial: now }) => now?.subjectStop === 'armed', 5);

    await running.command('start');
    await running.until('movement', ({ trial: now }) => now?.now.kind === 'exercise', 90);
    const pressedAt = performance.now();
    running.runtime.injectFault({ fault: 'subject-stop', seconds: 2 });
    const stopped = await running.until('the stop', ({ trial: now }) => now?.phase === 'stopped', 3);
    const tookMilliseconds = performance.now() - pressedAt;
    console.log(`from the press to a stopped trial: ${tookMilliseconds.toFixed(0)} ms`);
    expect(tookMilliseconds).toBeLessThan(1_000);
    expect(stopped.alarms[0]).toMatchObject({ alarm: 'subject-stop', priority: 'high', instrument: 'contacts' });
    expect(stopped.trial?.reason).toBe('The subject pressed stop: hand stop.');
    expect(stopped.trial?.allowed).not.toContain('go-on');
    await running.command('close');
    await running.until('the result', ({ trial: now }) => now?.ending === 'done', 30);
    const result = await running.procedures.trial.result({ file, trial }, running.window);
    expect(result.stopped).toMatchObject({ by: 'subject', text: 'The subject pressed stop: hand stop.' });
    const record = readTrial(join(folder.path, file), trial);
    expect(phasesOf(record)).toEqual(['running', 'stopped', 'closed']);
    expect(verify(join(folder.path, file)).intact).toBe(true);
  });

  it('holds nobody to a trial whose stop is pulled out: going on waits until it is back', async () => {
    driver = await driveRuntime({ folder: folder.path });
    const running = driver;
    writeFileSync(join(folder.path, quickScenario), JSON.stringify(quick));
    const { file } = await running.setUp();
    await running.until('every instrument', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
    await running.procedures.trial.prepare(running.plan(file), running.window);
    await running.until('an armed stop', ({ trial: now }) => now?.subjectStop === 'armed', 5);
    await running.command('start');
    await running.until('the background', ({ trial: now }) => now?.now.kind === 'background', 10);
    running.runtime.injectFault({ fault: 'unplug', instrument: 'contacts', seconds: 3, newName: true });
    const lost = await running.until('the loss', ({ trial: now }) => now?.subjectStop === 'lost', 3);
    expect(lost.alarms[0]).toMatchObject({ alarm: 'stop-contact-lost', priority: 'high' });
    await running.command('hold');
    await expect(running.command('go-on')).rejects.toMatchObject({ code: 'action-refused' });
    await expect(running.command('repeat')).rejects.toMatchObject({ code: 'action-refused' });
    await running.until('its return', ({ trial: now }) => now?.subjectStop === 'armed', 15);
    await running.command('go-on');
    expect(running.trial().phase).toBe('running');

    // The door: no caution while the subject comes in through it, one when it stands open during the work.
    await running.until('an exercise', ({ trial: now }) => now?.now.kind === 'exercise', 90);
    expect(running.runtime.snapshot().alarms.some(({ alarm }) => alarm === 'door-open')).toBe(false);
    running.runtime.injectFault({ fault: 'door-opens' });
    const open = await running.until('a caution', ({ alarms }) => alarms.some(({ alarm }) => alarm === 'door-open'), 5);
    expect(open.alarms.find(({ alarm }) => alarm === 'door-open')).toMatchObject({ priority: 'medium' });
    await running.command('stop');
    await running.command('close');
    await running.until('the end', ({ trial: now }) => now?.ending === 'done', 30);
  });
});
