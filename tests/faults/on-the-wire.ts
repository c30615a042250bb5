import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { cycle } from '../../drivers/virtual-rig/scenarios/cycle.ts';
import type { Scenario } from '../../drivers/virtual-rig/index.ts';
import { makeReport } from '../../src/host/report/make-report.ts';
import { reportWords } from '../../src/report/words.ts';
import { rehearse, type RehearsalResult } from '../../src/host/rehearsal/rehearse.ts';
import { createTrialReplay } from '../../src/host/replay/trial-replay.ts';
import { readPlannedMethod, readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import type { Storm, TimedFault } from '../storms/draw-storm.ts';
import { isOfMeasuring } from '../storms/faults-in-record.ts';
import { wrongNumber } from '../storms/judge-storm.ts';
import { troubledDisk, type DiskRecord } from '../storms/troubled-disk.ts';
import { quickScenarioOf } from '../support/runtime/quick-scenario.ts';
import { widestGapSeconds } from './program-bench.ts';
import { repeated, type Fault, type Tried } from './row.ts';

/** A trial of an exercise with photometer, valve, belt, contacts, ergometer and flow of breath. */
function scenarioWith(faults: readonly TimedFault[]): Scenario {
  const quick = quickScenarioOf({ ...cycle, rig: { ...cycle.rig, guard: undefined } }, ['march']);
  const breath = { instrument: 'breath', kind: 'breathing', dialect: 'flow-lines', settings: {} };
  return {
    ...quick,
    name: 'fault',
    rig: { ...quick.rig, instruments: [...quick.rig.instruments, breath] },
    faults: [...faults],
  };
}

const valve = 'selector';
export const phases = ['background', 'rest', 'exercise', 'closing'] as const;
export type Phase = (typeof phases)[number];

/** Beyond the silence that a stream is allowed, until somebody is told, s: four looks of the watch. */
const marginSeconds = 1;
/** The valve is asked, has three seconds to answer, and is asked what it stands at. */
const valveSeconds = 5;

const wireKinds = {
  unplug: 'the cable is pulled and put back',
  silence: 'it says nothing',
  garbage: 'every line is garbage',
  truncated: 'every line is torn',
  merged: 'every line comes with the next',
  frozen: 'it says the same again and again',
} as const;
type WireKind = keyof typeof wireKinds;
/** What shows in the numbers only: they must be right or flagged. */
const quietKinds: readonly WireKind[] = ['merged', 'frozen'];

/** All that is done to the wire of each instrument in each phase of a trial, on the virtual clock. */
export function wireFaults(inPhases: readonly Phase[]): Fault[] {
  return scenarioWith([]).rig.instruments.flatMap(({ instrument }) =>
    (Object.keys(wireKinds) as WireKind[]).map(
      (kind): Fault => ({
        fault: `${kind} ${instrument}`,
        says: `${instrument}: ${wireKinds[kind]}, in ${inPhases.join(', ')}`,
        run: (times) => tryPhases(times, inPhases, (clean, phase) => wireFault(clean, phase, instrument, kind)),
      }),
    ),
  );
}

/** A disk that tells every commit late, and one that refuses for a while. */
export function virtualDiskFaults(): Fault[] {
  return [
    {
      fault: 'slow-commits',
      says: 'every commit is told 50 ms late',
      run: (times) =>
        repeated(times, (seed) => tryTrial(`seed ${seed}`, seed, null, { disk: [], lateMilliseconds: 50 })),
    },
    {
      fault: 'disk-refuses',
      says: 'the file may not grow for a while, from four moments on',
      run: async (times) => {
        const tries: Tried[] = [];
        for (const fromLink of [3, 20, 35, 50]) {
          const each = (seed: number): Promise<Tried> =>
            tryTrial(`from link ${fromLink}, seed ${seed}`, seed, null, {
              disk: [{ fromLink, refusesMilliseconds: 300 }],
              lateMilliseconds: 0,
            });
          tries.push(...(await repeated(times, each)));
        }
        return tries;
      },
    },
  ];
}

async function tryPhases(
  times: number,
  inPhases: readonly Phase[],
  faultIn: (clean: TrialRecord, phase: Phase) => WireFault,
): Promise<readonly Tried[]> {
  const tries: Tried[] = [];
  for (let seed = 1; seed <= times; seed += 1) {
    const clean = await cleanTrial(seed);
    for (const phase of inPhases) {
      tries.push(await tryTrial(`${phase}, seed ${seed}`, seed, faultIn(clean, phase), noTrouble));
    }
  }
  return tries;
}

interface WireFault {
  readonly timed: TimedFault;
  readonly instrument: string;
  readonly seconds: number;
  /** Until somebody is told; null: nobody needs to be. */
  readonly limitSeconds: number | null;
}

function wireFault(clean: TrialRecord, phase: Phase, instrument: string, kind: WireKind): WireFault {
  const silence = clean.streams.flatMap(({ descriptor }) =>
    descriptor.instrument === instrument && descriptor.silenceLimitSeconds !== null
      ? [descriptor.silenceLimitSeconds]
      : [],
  );
  const seconds = instrument === valve ? valveSeconds : Math.max(2, ...silence) + 2 * marginSeconds;
  const spoken = Math.min(...silence) + marginSeconds;
  const limitSeconds =
    quietKinds.includes(kind) || (silence.length === 0 && instrument !== valve && kind !== 'unplug')
      ? null
      : kind === 'unplug'
        ? marginSeconds
        : instrument === valve
          ? valveSeconds
          : spoken;
  const atSeconds = momentOf(clean, phase, instrument === valve);
  const fault: TimedFault['fault'] =
    kind === 'unplug'
      ? { fault: 'unplug', instrument, seconds, newName: false }
      : { fault: 'wire', instrument, wire: { fault: kind, seconds } };
  return { timed: { atSeconds, fault }, instrument, seconds, limitSeconds };
}

/** A moment in a phase of a trial, s; the valve speaks only when it is asked: just before that. */
function momentOf({ events }: TrialRecord, phase: Phase, beforePort: boolean): number {
  const first = (wanted: (event: TrialRecord['events'][number]) => boolean): number =>
    (events.find(wanted)?.atMicroseconds ?? 0) / 1e6;
  const began = first(({ kind }) => kind === 'exercise-began');
  const moment = {
    background: first((event) => event.kind === 'dwell-began' && event.dwell.purpose === 'background') + 0.5,
    rest: began - 6,
    exercise: began + 5,
    closing: first(({ kind }) => kind === 'exercise-ended') + 0.5,
  }[phase];
  if (!beforePort) return round(moment);
  return round(first(({ atMicroseconds: at, kind }) => kind === 'port-requested' && at > 1e6 * moment) - 0.2);
}

const round = (seconds: number): number => Math.round(1000 * seconds) / 1000;

const cleanTrials = new Map<number, TrialRecord>();
async function cleanTrial(seed: number): Promise<TrialRecord> {
  const known = cleanTrials.get(seed);
  if (known !== undefined) return known;
  const { record } = await play(seed, scenarioWith([]), noTrouble);
  cleanTrials.set(seed, record);
  return record;
}

type Trouble = Pick<Storm, 'disk' | 'lateMilliseconds'>;
const noTrouble: Trouble = { disk: [], lateMilliseconds: 0 };

interface Played {
  readonly record: TrialRecord;
  readonly result: RehearsalResult;
  readonly bad: readonly string[];
  readonly disk: DiskRecord;
  /** Whether windows show it at that moment: an alarm, or for null that the instrument is lost. */
  readonly shows: (instrument: string, alarm: string | null, atMicroseconds: number) => boolean;
  readonly report: string;
}

/** A whole trial on the virtual clock, read back from its file. */
async function play(seed: number, scenario: Scenario, disk: Trouble): Promise<Played> {
  const folder = mkdtempSync(join(tmpdir(), 'faults-'));
  try {
    const path = join(folder, 'fault.json');
    const study = join(folder, 'fault.chamberside');
    writeFileSync(path, JSON.stringify(scenario));
    const record: DiskRecord = { failures: 0, lastLink: 0 };
    const result = await rehearse({
      ...{ studyPath: study, wire: 'none', scenario: path, seed, speed: Infinity, resume: false },
      ...{ subject: 'S01', ensemble: 'A', operator: 'anna', heartRateLimit: 180 },
      openStudy: troubledDisk({ seed, scenario, ...disk }, record),
    });
    const { findings, intact, trials } = verify(study);
    const bad = findings.filter(({ severity }) => severity === 'bad').map(({ text }) => text);
    if (!intact || trials.some(({ sealed }) => !sealed)) bad.push('the file does not verify as sealed');
    const stored = readTrial(study, result.trial);
    const replay = createTrialReplay('fault.chamberside', stored, readPlannedMethod(study, result.trial));
    const request = { path: study, trial: result.trial, assessment: null, format: 'html', program: '0' } as const;
    const { bytes } = await makeReport(request, () => undefined);
    return {
      ...{ bad, disk: record, record: stored, result },
      shows(instrument, alarm, at) {
        const { alarms, rig } = replay.at(at);
        return alarm === null
          ? rig.instruments.some((each) => each.instrument === instrument && each.state === 'lost')
          : alarms.some((each) => each.instrument === instrument && each.alarm === alarm);
      },
      report: Buffer.from(bytes).toString('utf8'),
    };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

async function tryTrial(where: string, seed: number, fault: WireFault | null, disk: Trouble): Promise<Tried> {
  const played = await play(seed, scenarioWith(fault === null ? [] : [fault.timed]), disk);
  const { record, result } = played;
  const broken = [...played.bad];
  const closed = record.events.find((event) => event.kind === 'phase-changed' && event.to === 'closed');
  if (closed === undefined) broken.push('the trial was not closed');
  for (const [instrument, { accounted, received }] of Object.entries(result.bytes)) {
    if (received !== accounted) broken.push(`${instrument}: ${received} bytes came, ${accounted} are accounted for`);
  }
  const { lastLink } = played.disk;
  if (result.counts.links - 1 < lastLink) broken.push(`link ${lastLink} was told to be kept and is not`);
  if (disk.disk.length > 0 && played.disk.failures === 0) broken.push('the disk did not refuse');
  broken.push(...result.cells.map(wrongNumber).filter((text) => text !== null));
  if (fault === null) {
    const last = record.streams[0]?.atMicroseconds.at(-1) ?? 0;
    return { where, lostSeconds: widestGapSeconds(record, 0, last), alarmSeconds: null, limitSeconds: null, broken };
  }

  const from = toMicroseconds(fault.timed.atSeconds);
  const over = closed?.atMicroseconds ?? from;
  const told = toldOf(record, fault.instrument, from);
  const alarmSeconds = told === null ? null : Math.max(0, told.atMicroseconds - from) / 1e6;
  // The trial may be over before somebody has to be told.
  const due = fault.limitSeconds !== null && from + toMicroseconds(fault.limitSeconds) < over;
  if (told !== null && !played.shows(told.instrument, told.alarm, Math.max(from, told.atMicroseconds) + 300_000)) {
    broken.push(`no window shows ${told.alarm ?? 'the loss'} of ${told.instrument}`);
  }
  if (told !== null && !played.report.includes(escaped(told.detail))) {
    broken.push(`the report does not say: ${told.detail}`);
  }
  if (!isOfMeasuring(fault.timed) && result.cells.some(({ windowPercent }) => windowPercent === null)) {
    broken.push('a cell has no value, and neither photometer nor valve was touched');
  }
  return {
    ...{ where, broken, alarmSeconds: due ? alarmSeconds : null, limitSeconds: due ? fault.limitSeconds : null },
    lostSeconds: lostAfter(record, fault.instrument, from + toMicroseconds(fault.seconds), over),
  };
}

/** How somebody was told of an instrument. */
interface Told {
  readonly atMicroseconds: number;
  readonly instrument: string;
  /** Null: a cable that was pulled is told of as such, without an alarm of the series. */
  readonly alarm: string | null;
  /** As the report says it. */
  readonly detail: string;
}

function toldOf({ events }: TrialRecord, instrument: string, from: number): Told | null {
  for (const event of events) {
    const { atMicroseconds } = event;
    if (atMicroseconds < from) continue;
    if (event.kind === 'alarm-raised' && event.instrument === instrument) {
      return { atMicroseconds, instrument, alarm: event.alarm, detail: event.detail };
    }
    if (event.kind !== 'problem' || event.problem.instrument !== instrument) continue;
    if (event.problem.code === 'connection-lost') {
      const detail = reportWords.gap.lost(instrument);
      return { atMicroseconds, instrument, alarm: null, detail };
    }
  }
  return null;
}

/** From the end of the fault to the first reading of every stream that speaks by itself, besides its own rhythm, s. */
function lostAfter({ streams }: TrialRecord, instrument: string, end: number, over: number): number | null {
  const lost = streams.flatMap(({ atMicroseconds, descriptor }) => {
    const interval = descriptor.expectedIntervalSeconds;
    if (descriptor.instrument !== instrument || interval === null) return [];
    const first = atMicroseconds.find((at) => at >= end);
    if (first === undefined && over < end + toMicroseconds(2 * interval + 1)) return [];
    return [Math.max(0, ((first ?? over) - end) / 1e6 - interval)];
  });
  return lost.length === 0 ? null : Math.max(...lost);
}

const entities: Readonly<Record<string, string>> = {
  ...{ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' },
};
const escaped = (text: string): string => text.replace(/[&<>"']/g, (sign) => entities[sign] ?? sign);
