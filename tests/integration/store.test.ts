import { createHash } from 'node:crypto';
import { copyFileSync, readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { listAssessments, readAssessment, storeAssessment } from '../../src/host/store/assessments.ts';
import type { CommitFailure, StudyRecorder, TrialRecorder } from '../../src/host/store/contract.ts';
import {
  listTrials,
  listUnfinishedTrials,
  readPlannedMethod,
  readStudyOverview,
  readTrial,
  readWire,
} from '../../src/host/store/read.ts';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { TrialEvent } from '../../src/model/trial-event.ts';
import { independentlyVerify } from '../support/store/independent-verifier.ts';
import {
  definition,
  host,
  method,
  recordSecond,
  rig,
  segment,
  series,
  temporaryFolder,
  trialName,
  valueAt,
} from '../support/store/trial.ts';

let folder = temporaryFolder();
let path = '';
const opened: StudyRecorder[] = [];
beforeEach(() => {
  folder = temporaryFolder();
  path = join(folder.path, 'study.chamberside');
});
afterEach(async () => {
  for (const study of opened.splice(0)) await study.close().catch(() => undefined);
  folder.remove();
});

const refusal = (code: string): unknown => expect.objectContaining({ code });

async function open(onFailure?: (failure: CommitFailure) => void): Promise<StudyRecorder> {
  const study = await openStudyForRecording({
    path,
    create: { studyName: 'a study' },
    hostId: host,
    ...(onFailure === undefined ? {} : { onFailure }),
  });
  opened.push(study);
  return study;
}

function begin(study: StudyRecorder, number = 1): Promise<TrialRecorder> {
  return study.createTrial(definition(study.identity.study, trialName(number)));
}

function record(trial: TrialRecorder, first: number, seconds: number): void {
  for (let second = first; second < first + seconds; second += 1) {
    recordSecond(trial, second);
    trial.handOver((second + 1) * 1_000_000);
  }
}

const machine = (step: number): TrialEvent => ({
  kind: 'phase-changed',
  atMicroseconds: step * 1_000_000,
  from: 'prepared',
  to: 'running',
  reason: 'start',
  machine: { step },
});

describe('a recorded trial', () => {
  it('is read back as it was recorded, and verified by two verifiers', async () => {
    const study = await open();
    expect(study.created).toBe(true);
    const trial = await begin(study);
    record(trial, 0, 20);
    await trial.settled();
    expect(trial.acknowledged()).toEqual({ link: 20, throughMicroseconds: 20_000_000 });
    const sealed = await trial.seal();
    await study.close();

    expect(readdirSync(folder.path)).toEqual(['study.chamberside']);
    expect(readStudyOverview(path).study).toEqual(study.identity);
    const back = readTrial(path, trialName(1));
    expect(back.header).toEqual(definition(study.identity.study, trialName(1)).header);
    expect([back.rig, back.series, readPlannedMethod(path, trialName(1))]).toEqual([rig, series, method]);
    expect(back.segments).toEqual([segment(0)]);
    expect(back.events.map((event) => event.kind).slice(0, 3)).toEqual([
      'segment-began',
      'port-requested',
      'port-acknowledged',
    ]);
    for (const [index, stream] of back.streams.entries()) {
      expect(stream.descriptor).toEqual(definition(study.identity.study, trialName(1)).streams[index]);
      expect(stream.values.length).toBe(index === 0 ? 400 : 200);
      for (const [position, value] of stream.values.entries()) {
        expect(value).toBe(valueAt(index, stream.atMicroseconds[position] as number));
      }
    }
    const wire = readWire(path, trialName(1));
    expect(
      wire
        .filter((entry) => entry.direction === 'out')
        .map((entry) => [entry.instrument, entry.atMicroseconds, Buffer.from(entry.bytes).toString()]),
    ).toEqual([0, 5, 10, 15].map((second) => ['valve', second * 1_000_000 + 500_010, 'GO 1\r']));
    expect(
      readWire(path, trialName(1), 'photometer')
        .map((entry) => Buffer.from(entry.bytes).toString())
        .slice(0, 1),
    ).toEqual([`C ${valueAt(0, 137).toFixed(6)}\r\n`]);
    const report = verify(path);
    expect(report).toMatchObject({
      intact: true,
      findings: [],
      trials: [{ sealed: true, links: 21, head: sealed.head }],
    });
    expect(report.sealHead).toBe(sealed.sealDigest);
    expect(sealed).toMatchObject({ count: 21, seal: 1 });
    expect(independentlyVerify(path)).toEqual({ trials: 1, links: 21, seals: 1, readings: 600 });
  });

  it('has a link for a second in which nothing happened, and none twice', async () => {
    const study = await open();
    const trial = await begin(study);
    trial.handOver(5_400_000);
    trial.handOver(3_000_000);
    trial.handOver(5_999_999);
    await trial.settled();
    expect(trial.acknowledged()).toEqual({ link: 5, throughMicroseconds: 5_000_000 });
    trial.reading(0, 5_200_000, 1);
    await trial.seal();
    await study.close();
    expect(verify(path)).toMatchObject({ intact: true, trials: [{ links: 7 }] });
    expect(listTrials(path)[0]).toMatchObject({ lastLink: 6, throughMicroseconds: 5_200_001 });
  });

  it('keeps what comes late, with its own time, and what comes early, in its own second', async () => {
    const study = await open();
    const trial = await begin(study);
    trial.reading(0, 2_500_000, 3);
    trial.handOver(1_000_000);
    trial.reading(0, 400_000, 1);
    trial.wire(0, 'in', 400_000, Uint8Array.of(1, 2));
    trial.event({ kind: 'cue', atMicroseconds: 300_000, cue: 'begin', exercise: 'walking', text: 'Walk — now 𝄞' });
    const bytes = Uint8Array.of(7, 8);
    trial.wire(0, 'in', 2_600_000, bytes);
    bytes.fill(0);
    await trial.seal();
    await study.close();
    const back = readTrial(path, trialName(1));
    expect([...(back.streams[0]?.atMicroseconds ?? [])]).toEqual([400_000, 2_500_000]);
    expect(back.events.at(-1)).toMatchObject({ atMicroseconds: 300_000, text: 'Walk — now 𝄞' });
    expect(readWire(path, trialName(1)).map((entry) => [...entry.bytes])).toEqual([
      [1, 2],
      [7, 8],
    ]);
    expect(verify(path).intact).toBe(true);
    expect(independentlyVerify(path)).toMatchObject({ links: 4, readings: 2 });
  });

  it('refuses what cannot be recorded, and goes on', async () => {
    const study = await open();
    const trial = await begin(study);
    const defects: (() => void)[] = [
      () => trial.reading(2, 0, 1),
      () => trial.reading(-1, 0, 1),
      () => trial.reading(0, -1, 1),
      () => trial.reading(0, 0.5, 1),
      () => trial.reading(0, Number.NaN, 1),
      () => trial.reading(0, 1e15, 1),
      () => trial.wire(2, 'in', 0, new Uint8Array(1)),
      () => trial.event({ ...machine(1), machine: { value: Number.NaN } } as TrialEvent),
    ];
    for (const defect of defects) expect(defect).toThrow(refusal('internal'));
    trial.reading(0, 10, Number.NaN);
    await trial.seal();
    expect(() => trial.reading(0, 20, 1)).toThrow(refusal('trial-sealed'));
    await expect(trial.seal()).rejects.toThrow(refusal('trial-sealed'));
    await expect(study.resumeTrial(trialName(1), segment(1, 9_000_000))).rejects.toThrow(refusal('trial-sealed'));
    await expect(begin(study, 1)).rejects.toThrow(refusal('configuration-invalid'));
    await expect(study.createTrial(definition('s-000000000009', trialName(2)))).rejects.toThrow(
      refusal('configuration-invalid'),
    );
    await study.close();
    expect(verify(path).intact).toBe(true);
    expect(readTrial(path, trialName(1)).streams[0]?.values).toEqual(Float64Array.of(Number.NaN));
    expect(() => readTrial(path, trialName(5))).toThrow(refusal('trial-not-found'));
  });

  it('can be read and verified while it is recorded', async () => {
    const study = await open();
    const trial = await begin(study);
    record(trial, 0, 4);
    await trial.settled();
    expect(readTrial(path, trialName(1)).streams[0]?.values.length).toBe(80);
    expect(verify(path)).toMatchObject({ intact: true, findings: [{ severity: 'note', code: 'unsealed' }] });
    record(trial, 4, 2);
    await trial.seal();
  });

  it('beside another one keeps its own chain', async () => {
    const study = await open();
    const [one, other] = [await begin(study, 1), await begin(study, 2)];
    for (let second = 0; second < 6; second += 1) {
      record(one, second, 1);
      record(other, second, 1);
    }
    expect((await other.seal()).seal).toBe(1);
    expect((await one.seal()).seal).toBe(2);
    await study.close();
    expect(verify(path)).toMatchObject({ intact: true, findings: [] });
    expect(independentlyVerify(path)).toMatchObject({ trials: 2, links: 14, seals: 2 });
  });
});

describe('an interrupted trial', () => {
  it('is listed with its last state, resumed after its last link, and sealed', async () => {
    const first = await open();
    const trial = await begin(first);
    trial.event(machine(1));
    record(trial, 0, 5);
    trial.event({ ...machine(2), atMicroseconds: 5_100_000 });
    await trial.abandon();
    expect(() => trial.handOver(9e6)).toThrow(refusal('internal'));
    await first.close();

    const study = await open();
    expect(study.created).toBe(false);
    const [unfinished] = await study.unfinishedTrials();
    expect(unfinished).toMatchObject({
      trial: trialName(1),
      lastLink: 6,
      throughMicroseconds: 5_100_001,
      phase: 'running',
      snapshot: { machine: { step: 2 } },
    });
    expect(listUnfinishedTrials(path)).toEqual([unfinished]);
    await expect(study.resumeTrial(trialName(1), segment(0, 9_000_000))).rejects.toThrow(
      refusal('configuration-invalid'),
    );
    await expect(study.resumeTrial(trialName(1), segment(1, 5_000_000))).rejects.toThrow(
      refusal('configuration-invalid'),
    );
    await expect(study.resumeTrial(trialName(3), segment(1, 9_000_000))).rejects.toThrow(refusal('trial-not-found'));
    const resumed = await study.resumeTrial(trialName(1), segment(1, 9_500_000));
    resumed.event({ kind: 'segment-began', atMicroseconds: 9_500_000, segment: segment(1, 9_500_000) });
    record(resumed, 10, 3);
    resumed.beginSegment(segment(2, 20_250_000));
    record(resumed, 21, 2);
    await resumed.seal();
    await study.close();

    const back = readTrial(path, trialName(1));
    expect(back.segments.map((entry) => entry.beginsAtMicroseconds)).toEqual([0, 9_500_000, 20_250_000]);
    expect(back.events.filter((event) => event.kind === 'segment-began').length).toBe(3);
    expect(back.streams[0]?.values.length).toBe(200);
    expect(verify(path)).toMatchObject({ intact: true, findings: [] });
    expect(independentlyVerify(path)).toMatchObject({ trials: 1, readings: 300 });
  });

  it('without any link yet is resumed too', async () => {
    const first = await open();
    await begin(first);
    const copy = join(folder.path, 'copy.chamberside');
    copyFileSync(path, copy);
    copyFileSync(`${path}-wal`, `${copy}-wal`);
    await first.close();
    expect(verify(copy)).toMatchObject({ intact: true, trials: [{ links: 1 }] });
    expect(listUnfinishedTrials(copy)).toMatchObject([
      { lastLink: 0, throughMicroseconds: 0, phase: null, snapshot: null, segments: [segment(0)] },
    ]);
  });

  it('is handed over to its last reading when the study closes', async () => {
    const study = await open();
    const trial = await begin(study);
    trial.reading(0, 300_000, 4);
    const settled = trial.settled();
    await study.close();
    await settled;
    expect(() => trial.reading(0, 400_000, 4)).toThrow(refusal('internal'));
    expect(readTrial(path, trialName(1)).streams[0]?.values).toEqual(Float64Array.of(4));
  });
});

describe('a sealed trial', () => {
  it('takes nothing more, even from plain SQL', async () => {
    const study = await open();
    const trial = await begin(study);
    record(trial, 0, 2);
    await trial.seal();
    await study.close();
    const plain = new Database(path);
    for (const table of ['frozen', 'link', 'chunk', 'wire', 'event']) {
      const columns = (plain.pragma(`table_info(${table})`) as { name: string }[]).map((column) => column.name);
      const values = columns.map((column) => (['link', 'part'].includes(column) ? "'77'" : column));
      expect(() => plain.exec(`INSERT INTO ${table} SELECT ${values.join(', ')} FROM ${table} LIMIT 1`)).toThrow(
        'trial-sealed',
      );
      expect(() => plain.exec(`UPDATE ${table} SET digest = x'00'`)).toThrow('record-fixed');
      expect(() => plain.exec(`DELETE FROM ${table}`)).toThrow('record-fixed');
    }
    for (const table of ['trial', 'seal', 'study']) expect(() => plain.exec(`DELETE FROM ${table}`)).toThrow(/fixed/);
    expect(() => plain.exec("UPDATE study SET name = 'other'")).toThrow('study-fixed');
    plain.close();
    expect(verify(path).intact).toBe(true);
  });

  it('takes assessments, each a new record', async () => {
    const study = await open();
    const trial = await begin(study);
    record(trial, 0, 2);
    const { head } = await trial.seal();
    const summary = {
      exercise: 'walking',
      probe: 'ankle',
      dwellPosition: 1,
      windowPercent: 0.1 + 0.2,
      windowLowPercent: -1e-9,
      windowHighPercent: 0.4,
      exercisePercent: null,
      flags: ['gap'],
    };
    const cell = { ...summary, windowStandardPercent: 0.05 };
    const entry = { trial: trialName(1), method, program: '0.1.0', cells: [cell], details: { seed: 7 } };
    const one = await study.storeAssessment(entry);
    await study.close();
    const two = storeAssessment(path, entry, '2026-01-06T08:00:00.000Z');
    expect(two.assessment).not.toBe(one.assessment);
    expect(two.trialHead).toBe(head);
    expect(listAssessments(path, trialName(1)).map((row) => row.cells)).toEqual([[summary], [summary]]);
    expect(listAssessments(path)[1]).toMatchObject({ ...two, cells: [summary] });
    expect(listAssessments(path, trialName(2))).toEqual([]);
    expect(readAssessment(path, two.assessment)).toMatchObject({ cells: [cell], details: { seed: 7 }, method });
    expect(readAssessment(path, 'a-000000000000')).toBeNull();
    expect(() => storeAssessment(path, { ...entry, trial: trialName(2) })).toThrow(refusal('trial-not-found'));
    expect(readdirSync(folder.path)).toEqual(['study.chamberside']);
    expect(verify(path)).toMatchObject({ intact: true, findings: [] });
    expect(independentlyVerify(path).seals).toBe(1);
  });
});

describe('a study', () => {
  it('is recorded by one host at a time', async () => {
    const study = await open();
    await expect(openStudyForRecording({ path, hostId: 'h-000000000002' })).rejects.toThrow(refusal('study-in-use'));
    expect(() =>
      storeAssessment(path, { trial: trialName(1), method, program: '0', cells: [], details: null }),
    ).toThrow(refusal('study-in-use'));
    await study.close();
    const next = await open();
    await next.close();
    await next.close();
  });

  it('is not taken from a host on another machine whose heart beats', async () => {
    await (await open()).close();
    const plain = new Database(path);
    const lease = plain.prepare("INSERT OR REPLACE INTO lease VALUES (1, 'h-000000000002', 'elsewhere', 1, ?)");
    lease.run(new Date().toISOString());
    plain.close();
    await expect(openStudyForRecording({ path, hostId: host })).rejects.toThrow(refusal('study-in-use'));
    const later = new Database(path);
    later.prepare('UPDATE lease SET heartbeat_at = ?').run(new Date(Date.now() - 60_000).toISOString());
    later.close();
    await (await open()).close();
    expect(verify(path).intact).toBe(true);
  });

  it('that is missing is not created without being asked, and a foreign file is left alone', async () => {
    await expect(openStudyForRecording({ path, hostId: host })).rejects.toThrow(refusal('file-not-found'));
    expect(readdirSync(folder.path)).toEqual([]);
    expect(() => verify(path)).toThrow(refusal('file-not-found'));
  });

  it('is not changed by reading or verifying it, clean or not', async () => {
    const study = await open();
    const trial = await begin(study);
    record(trial, 0, 3);
    await trial.settled();
    const copy = join(folder.path, 'copy.chamberside');
    copyFileSync(path, copy);
    copyFileSync(`${path}-wal`, `${copy}-wal`);
    const contents = (): string[] =>
      [copy, `${copy}-wal`].map((name) => createHash('sha256').update(readFileSync(name)).digest('hex'));
    const before = contents();
    expect(verify(copy)).toMatchObject({ intact: true, trials: [{ links: 4 }] });
    readTrial(copy, trialName(1));
    expect(contents()).toEqual(before);
  });
});
