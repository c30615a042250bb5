import { copyFileSync, writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { scenarioNamed } from '../../drivers/virtual-rig/index.ts';
import { compareWithBytes, type InstrumentComparison } from '../../src/host/replay/compare.ts';
import { decodeAgain } from '../../src/host/replay/decode-again.ts';
import { replayBytes } from '../../src/host/replay/replay-bytes.ts';
import { readTrial, readWire } from '../../src/host/store/read.ts';
import type { TrialEvent } from '../../src/model/trial-event.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { chamberside, temporaryFolder } from '../support/command-line.ts';
import { digestOfFile } from '../support/digest-of-file.ts';
import type { PrintedRehearsal } from '../support/rehearsal.ts';
import { alter } from '../support/store/altered-study.ts';

const folder = temporaryFolder();
afterAll(folder.clear);

const onWire = (atSeconds: number, instrument: string, fault: string, seconds: number) => ({
  atSeconds,
  fault: { fault: 'wire', instrument, wire: { fault, seconds } },
});
const onRig = (atSeconds: number, fault: object) => ({ atSeconds, fault });

/** Everything that can go wrong on the wires, within one short trial. */
const faults = [
  onWire(20, 'photometer', 'garbage', 1.5),
  onWire(25, 'photometer', 'truncated', 1.5),
  onWire(30, 'photometer', 'merged', 1.5),
  onWire(35, 'photometer', 'wrong-checksum', 1.5),
  onWire(40, 'photometer', 'silence', 3),
  onWire(50, 'belt', 'garbage', 4),
  onWire(56, 'belt', 'truncated', 4),
  onWire(62, 'belt', 'merged', 4),
  onRig(70, { fault: 'unplug', instrument: 'photometer', seconds: 2, newName: true }),
  onRig(80, { fault: 'unplug', instrument: 'belt', seconds: 2, newName: false }),
  onRig(90, { fault: 'contact-lost', seconds: 5 }),
  onRig(100, { fault: 'valve', behaviour: 'late', seconds: 8 }),
  onRig(112, { fault: 'valve', behaviour: 'wrong', seconds: 8 }),
  onRig(124, { fault: 'valve', behaviour: 'never', seconds: 6 }),
  onRig(132, { fault: 'unplug', instrument: 'selector', seconds: 1, newName: false }),
];

interface Settings {
  rig: { instruments: { instrument: string; settings: Record<string, unknown> }[] };
  faults: unknown[];
}

/** Rehearses the short scenario with faults and changed settings. */
async function recorded(name: string, change: Record<string, Record<string, unknown>>) {
  const scenario = structuredClone(scenarioNamed('short')) as unknown as Settings;
  scenario.faults = faults;
  for (const instrument of scenario.rig.instruments) {
    instrument.settings = { ...instrument.settings, ...change[instrument.instrument] };
  }
  const file = folder.file(`${name}.json`);
  writeFileSync(file, JSON.stringify(scenario));
  const study = folder.file(`${name}.chamberside`);
  const words = ['--study', study, '--scenario', file, '--seed', '3', '--json'];
  const rehearsal = JSON.parse((await chamberside('rehearse', ...words)).stdout) as PrintedRehearsal;
  return { study, trial: rehearsal.trialId, problems: rehearsal.counts.problems, readings: rehearsal.counts.readings };
}

describe.each([
  ['that print by themselves', 'printing', {}],
  [
    'that are asked, and asked again',
    'asked',
    {
      photometer: { poll: { command: 'R?', intervalSeconds: 0.05, timeoutSeconds: 0.2 } },
      selector: { confirmByQuery: true },
    },
  ],
])('instruments %s, with every fault of the wires', (_, name, change) => {
  let made: Awaited<ReturnType<typeof recorded>>;
  beforeAll(async () => {
    made = await recorded(name, change);
  }, 120_000);

  it('say again what is stored', async () => {
    const before = digestOfFile(made.study);
    const instruments = await replayBytes(made.study, made.trial);
    expect(instruments.flatMap(({ differences }) => differences)).toEqual([]);
    expect(instruments.reduce((sum, { readings }) => sum + readings, 0)).toBe(made.readings);
    expect(made.problems).toBeGreaterThan(30);
    const valve = instruments.find(({ instrument }) => instrument === 'selector');
    expect(valve?.confirmations).toBeGreaterThan(15);
    expect(instruments.every(({ atEdge }) => atEdge === 0)).toBe(true);
    expect(digestOfFile(made.study)).toBe(before);
  });
});

describe('a record that says something else than its bytes', () => {
  let made: Awaited<ReturnType<typeof recorded>>;
  let record: TrialRecord;
  beforeAll(async () => {
    made = await recorded('altered', {});
    record = readTrial(made.study, made.trial);
  }, 120_000);

  const compared = async (instrument: string, altered: TrialRecord): Promise<InstrumentComparison> => {
    const configuration = record.rig.instruments.find((one) => one.instrument === instrument);
    if (configuration === undefined) throw new Error('no such instrument');
    const wire = readWire(made.study, made.trial, instrument);
    const { events, segments } = record;
    return compareWithBytes(altered, await decodeAgain({ configuration, wire, events, segments }));
  };
  const withValues = (change: (values: Float64Array, times: Float64Array) => void): TrialRecord => ({
    ...record,
    streams: record.streams.map((stream) => {
      const copy = { ...stream, values: stream.values.slice(), atMicroseconds: stream.atMicroseconds.slice() };
      if (stream.descriptor.instrument === 'photometer') change(copy.values, copy.atMicroseconds);
      return copy;
    }),
  });
  const withEvents = (change: (event: TrialEvent) => TrialEvent[]): TrialRecord => ({
    ...record,
    events: record.events.flatMap(change),
  });

  it('is found by one value, though it differs in the last bit only', async () => {
    const altered = withValues((values) => {
      values[500] = (values[500] as number) * (1 + Number.EPSILON);
    });
    const { differences } = await compared('photometer', altered);
    expect(differences).toHaveLength(1);
    expect(differences[0]).toMatchObject({ kind: 'value', atMicroseconds: record.streams[0]?.atMicroseconds[500] });
  });

  it('is found by a reading at another time', async () => {
    const altered = withValues((_, times) => {
      times[500] = (times[500] as number) + 1;
    });
    const { differences } = await compared('photometer', altered);
    expect(differences.map(({ kind }) => kind)).toEqual(['reading-not-stored', 'reading-without-bytes']);
  });

  it('is found by a problem that was taken out, or put in', async () => {
    const isOne = (event: TrialEvent): boolean => event.kind === 'problem' && event.problem.code === 'line-undecodable';
    const first = record.events.find((event) => isOne(event) && 'problem' in event && event.problem.byteCount > 0);
    if (first?.kind !== 'problem') throw new Error('no problem');
    const without = await compared(
      first.problem.instrument,
      withEvents((event) => (event === first ? [] : [event])),
    );
    expect(without.differences).toMatchObject([{ kind: 'problem', stored: null }]);
    const added = { ...first, problem: { ...first.problem, detail: 'made up' } };
    const more = await compared(
      first.problem.instrument,
      withEvents((event) => (event === first ? [event, added] : [event])),
    );
    expect(more.differences).toMatchObject([{ kind: 'problem', decoded: null }]);
  });

  it('is found by a port that the valve never confirmed, or not then', async () => {
    const first = record.events.find((event) => event.kind === 'port-acknowledged');
    if (first?.kind !== 'port-acknowledged') throw new Error('no acknowledgement');
    for (const change of [{ port: 31 }, { atMicroseconds: first.atMicroseconds - 1000 }]) {
      const altered = withEvents((event) => [event === first ? { ...first, ...change } : event]);
      const { differences } = await compared('selector', altered);
      expect(differences).toHaveLength(1);
      expect(differences[0]?.kind).toBe('port');
    }
  });

  it('ends the command with 1 and a list, when the file itself is altered', async () => {
    const copy = folder.file('copy.chamberside');
    copyFileSync(made.study, copy);
    alter(copy, (file) => {
      const row = file
        .prepare<[], { blob: Buffer }>('SELECT blob FROM chunk WHERE stream = 0 AND link = 60')
        .get();
      const blob = Buffer.from(row?.blob ?? Buffer.alloc(8));
      // The last reading of that second is raised by 1: its double stands at the end.
      blob.writeDoubleLE(blob.readDoubleLE(blob.length - 8) + 1, blob.length - 8);
      file.prepare('UPDATE chunk SET blob = ? WHERE stream = 0 AND link = 60').run(blob);
    });
    const good = await chamberside('replay', '--study', made.study);
    expect(good).toMatchObject({ status: 0, stderr: '' });
    expect(good.stdout).toContain('The bytes say what is stored.');
    const bad = await chamberside('replay', '--study', copy);
    expect(bad.status).toBe(1);
    expect(bad.stdout).toMatch(/photometer at 59\.\d+ s, value: stored concentration [0-9.]+ mg\/m3, bytes say/);
    expect(bad.stdout).toContain('1 DIFFERENCES.');
    const json = await chamberside('replay', '--study', copy, '--json');
    expect(JSON.parse(json.stdout)).toMatchObject({ differences: 1, trialId: made.trial, virtual: true, sealed: true });
    expect((await chamberside('replay', '--study', folder.file('none.chamberside'))).status).toBe(1);
  });
});
