import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { short } from '../../drivers/virtual-rig/scenarios/short.ts';
import type { ConnectionSettings } from '../../src/bridge/snapshot.ts';
import type { Connection } from '../../src/device/transport.ts';
import { startRigProcess, type RigProcess } from '../../src/host/rig/start-rig-process.ts';
import { laboratoryFile } from '../../src/host/runtime/folder.ts';
import { openLaboratory } from '../../src/host/store/laboratory.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { AfterItem, BeforeItem } from '../../src/model/trial-event.ts';
import { chamberside, temporaryFolder } from '../support/command-line.ts';
import { driveRuntime, type Driver } from '../support/runtime/drive.ts';

const folder = temporaryFolder();
const soonInside = { name: 'Soon inside', version: 1 };
let chamber: RigProcess;
let driver: Driver;
let file: string;
let trial: string;

function settingsOf(connection: Connection | undefined): ConnectionSettings {
  if (connection?.transport !== 'serial') throw new Error('not on a pseudo-terminal');
  return { kind: 'serial', path: connection.path, baudRate: connection.baudRate };
}

/** The photometer of the bench, with a certificate that has expired. */
function register(photometer: string): void {
  const known = openLaboratory(folder.file(laboratoryFile));
  const about = { instrument: 'PH-1', kind: 'photometer' as const };
  known.register.add({ entry: 'instrument', ...about, maker: 'a', model: 'b', serial: '4' }, 'anna');
  const certificate = {
    ...{ number: 'C-17', issuer: 'Calibration laboratory', quantity: 'linearity' as const, unit: '1', value: 1.01 },
    ...{ expandedUncertainty: 0.02, coverageFactor: 2, issuedOn: '2019-01-10', validUntil: '2020-01-09' },
  };
  known.register.add({ entry: 'certificate', instrument: 'PH-1', certificate }, 'anna');
  const at = { place: 'instrument' as const, name: photometer };
  known.register.add({ entry: 'placed', instrument: 'PH-1', rig: 'Bench', at }, 'anna');
  known.close();
}

/** A rig that its owner says to be real: somebody is inside. */
beforeAll(async () => {
  const laboratory = openLaboratory(folder.file(laboratoryFile), { create: true });
  // The subject enters after a few seconds.
  const background = { zeroSeconds: 2, dwellSeconds: 2.5 };
  laboratory.put('series', { ...short.series, name: 'Soon inside', version: 1, background });
  laboratory.close();
  chamber = await startRigProcess({ wire: 'pty', scenario: 'short', seed: 4, truthFile: null });
  driver = await driveRuntime({ folder: folder.path });
  const { procedures, window } = driver;
  for (const code of ['anna', 'bert']) {
    await procedures.person.add({ code, name: code, roles: ['operator'], pin: '4711' }, window);
  }
  await procedures.person.choose({ code: 'anna' }, window);
  const { rig } = chamber;
  await procedures.rig.save({ rig: { ...rig, name: 'Bench', virtual: false } }, window);
  register(rig.photometer);
  await procedures.rig.open({ name: 'Bench' }, window);
  for (const { instrument } of rig.instruments) {
    await procedures.rig.connect({ instrument, settings: settingsOf(chamber.connections.get(instrument)) }, window);
  }
  await driver.until('live instruments', ({ rig: now }) => now.instruments.every(({ state }) => state === 'live'));
  ({ file } = await procedures.study.create({ name: 'Somebody is inside' }, window));
  ({ trial } = await procedures.trial.prepare({ ...driver.plan(file), series: soonInside }, window));
  await driver.until('an armed stop', ({ trial: now }) => now?.subjectStop === 'armed', 5);
}, 60_000);

afterAll(async () => {
  await driver.end();
  await chamber.stop();
  folder.clear();
});

function answer(
  item: BeforeItem,
  wanted: 'confirmed' | 'passed-over' | 'withdrawn' = 'confirmed',
  also: { readonly second?: string; readonly note?: string } = {},
): Promise<unknown> {
  const { second = null, note = '' } = also;
  return driver.procedures.trial.answer({ trial, item, answer: wanted, second, note }, driver.window);
}

const open = (): string[] => driver.trial().before.flatMap((line) => (line.answer === null ? [line.item] : []));

/** Closed, and recorded on: it is sealed when the last item is answered, and not before. */
async function goThroughAfter(): Promise<void> {
  const { procedures, window } = driver;
  const say = (item: AfterItem, said: 'confirmed' | 'noted' | 'passed-over', note = ''): Promise<unknown> =>
    procedures.trial.answerAfter({ trial, item, answer: said, note }, window);
  await driver.until('a list that is waited for', ({ trial: now }) => now?.afterHolds === true, 5);
  const refused = (text: string) => ({ message: expect.stringContaining(text) as string });
  await expect(say('symptoms', 'passed-over', 'in a hurry')).rejects.toMatchObject(refused('cannot be passed over'));
  await expect(say('drift', 'confirmed')).rejects.toMatchObject(refused('fewer than two references'));
  await expect(procedures.trial.prepare(driver.plan(file), window)).rejects.toMatchObject({
    code: 'action-refused',
    message: expect.stringContaining('the list of after the trial is not gone through') as string,
  });
  await say('drift', 'passed-over', 'stopped before there were two');
  await say('ensemble', 'noted', 'left sleeve torn');
  await say('recovery', 'passed-over', 'nobody had moved yet');
  // The air of the last window has long been read: what is waited for is the list.
  await new Promise((resolve) => setTimeout(resolve, 3_000));
  expect(driver.trial()).toMatchObject({ phase: 'closed', ending: 'no', afterHolds: true });
  await say('symptoms', 'confirmed');
}

describe('the list of before the start, on a rig with somebody inside', () => {
  it('holds the start back, and says what is open', async () => {
    expect(open()).toHaveLength(8);
    expect(driver.trial().allowed).not.toContain('start');
    await expect(driver.command('start')).rejects.toMatchObject({
      code: 'action-refused',
      message: expect.stringMatching(/Medical clearance, Consent, .*Subject’s stop tried/) as string,
    });
    expect(driver.trial().phase).toBe('prepared');
  });

  it('lets nobody pass over clearance, consent and the stop, whatever the reason', async () => {
    for (const item of ['clearance', 'consent', 'subject-stop'] as const) {
      await expect(answer(item, 'passed-over', { note: 'in a hurry' })).rejects.toMatchObject({
        code: 'action-refused',
        message: expect.stringContaining('cannot be passed over') as string,
      });
    }
  });

  it('takes a reason for the rest, two people for the ensemble, and the contact’s own word for the stop', async () => {
    const said = (text: string) => ({ message: expect.stringContaining(text) as string });
    await expect(answer('well', 'passed-over', { note: '  ' })).rejects.toMatchObject(said('without a reason'));
    await expect(answer('ensemble')).rejects.toMatchObject(said('takes two people'));
    await expect(answer('ensemble', 'confirmed', { second: 'anna' })).rejects.toMatchObject(said('takes two people'));
    await expect(answer('ensemble', 'confirmed', { second: 'carl' })).rejects.toMatchObject({
      code: 'person-not-found',
    });
    await expect(answer('subject-stop')).rejects.toMatchObject(said('the contact itself answers'));
    await expect(answer('consent', 'withdrawn')).rejects.toMatchObject(said('nothing has been answered'));
    expect(open()).toHaveLength(8);
  });

  it('is gone through, one answer taken back and given again', async () => {
    for (const item of ['clearance', 'consent', 'breathing-air', 'second-person'] as const) await answer(item);
    await answer('ensemble', 'confirmed', { second: 'bert' });
    await answer('well', 'passed-over', { note: 'asked by the nurse this morning' });
    expect(open()).toEqual(['subject-stop', 'certificates']);
    expect(driver.trial().before.at(-1)?.detail).toContain('C-17 of PH-1 ended on 2020-01-09');
    await expect(answer('certificates')).rejects.toMatchObject({ code: 'action-refused' });
    await answer('certificates', 'passed-over', { note: 'a new one is on its way' });
    expect(open()).toEqual(['subject-stop']);
    await answer('consent', 'withdrawn');
    expect(open()).toEqual(['consent', 'subject-stop']);
    await answer('consent');
    chamber.inject({ fault: 'subject-stop', seconds: 1 });
    await driver.until('the press', ({ trial: now }) => now?.subjectStop === 'pressed', 5);
    // Nobody starts while it is still pressed, and a wire that was cut looks the same.
    expect(open()).toEqual(['subject-stop']);
    expect(driver.trial().allowed).not.toContain('start');
    await driver.until('its end', ({ trial: now }) => now?.allowed.includes('start') === true, 5);
    expect(open()).toEqual([]);
  });

  it('is not there for the start alone: everything is recorded, sealed, and printed', async () => {
    await driver.command('start');
    expect(driver.trial().before).toEqual([]);
    await expect(answer('well')).rejects.toMatchObject({ code: 'action-refused' });
    expect(driver.trial().after).toEqual([]);
    await driver.until('the subject inside', ({ trial: now }) => now?.now.kind === 'waiting', 20);
    await driver.command('stop', 'seen enough');
    await driver.command('close');
    await goThroughAfter();
    await driver.until('the end', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 20);
    const study = join(folder.path, file);
    const answers = readTrial(study, trial).events.filter((event) => event.kind === 'before-answered');
    expect(answers.map(({ item, answer: its, persons }) => [item, its, persons])).toEqual([
      ['clearance', 'confirmed', ['anna']],
      ['consent', 'confirmed', ['anna']],
      ['breathing-air', 'confirmed', ['anna']],
      ['second-person', 'confirmed', ['anna']],
      ['ensemble', 'confirmed', ['anna', 'bert']],
      ['well', 'passed-over', ['anna']],
      ['certificates', 'passed-over', ['anna']],
      ['consent', 'withdrawn', ['anna']],
      ['consent', 'confirmed', ['anna']],
      ['subject-stop', 'confirmed', ['subject']],
    ]);
    const after = readTrial(study, trial).events.filter((event) => event.kind === 'after-answered');
    expect(after.map(({ item, answer: its, note }) => [item, its, note])).toEqual([
      ['drift', 'passed-over', 'stopped before there were two'],
      ['ensemble', 'noted', 'left sleeve torn'],
      ['recovery', 'passed-over', 'nobody had moved yet'],
      ['symptoms', 'confirmed', ''],
    ]);
    expect(after[0]?.measured).toContain('fewer than two references');
    expect(verify(study).intact).toBe(true);
    const page = folder.file('report.html');
    const report = await chamberside('report', '--study', study, '--trial', trial, '--out', page);
    expect(report.stderr).toBe('');
    const text = readFileSync(page, 'utf8');
    expect(text).toContain('Before the start');
    expect(text).toContain('asked by the nurse this morning');
    expect(text).toContain('anna, bert');
    expect(text).toContain('After the trial');
    expect(text).toContain('left sleeve torn');
    const [frozen] = readTrial(study, trial).header.certificates ?? [];
    const certificate = { number: 'C-17', record: 2 };
    expect(frozen).toMatchObject({ instrument: 'PH-1', standing: 'expired', certificate });
    expect(text).toContain('2020-01-09, EXPIRED');
    expect(text).toContain('a new one is on its way');
  }, 60_000);

  it('was stopped, and is prepared anew by its own plan, each naming the other', async () => {
    const { procedures, window } = driver;
    const again = (from: string | null) => procedures.trial.repeat({ file, trial, from }, window);
    // No exercise was done whole: there is nothing to go on from.
    await expect(again('crawl')).rejects.toMatchObject({ code: 'usage-bad-value' });
    const made = await again(null);
    expect(driver.trial().header).toMatchObject({
      ...{ subject: 'S01', ensemble: 'A', heartRateLimit: 180, requirementPercent: 2, operator: 'anna' },
      repeats: { trial, from: null },
    });
    expect(driver.trial()).toMatchObject({ phase: 'prepared', trial: made.trial });
    await driver.command('close');
    // Nobody was inside: there is no list to go through.
    await driver.until('its end', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 20);
    const [earlier, later] = [trial, made.trial].map((one) => readTrial(join(folder.path, file), one));
    expect(later?.series).toEqual(earlier?.series);
    const result = await procedures.trial.result({ file, trial }, window);
    expect([result.repeatedBy, result.repeat]).toEqual([[made.trial], { because: 'stopped', from: null }]);
    expect(result.after?.answers.map(({ word }) => word)).toContain('Damage noted');
  }, 60_000);
});
