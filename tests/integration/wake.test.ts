import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { assess } from '../../src/leakage/assess.ts';
import type { InterpolatedReading } from '../../src/leakage/assessment.ts';
import { segmentAt } from '../../src/model/time.ts';
import type { TrialEvent, TrialEventOf } from '../../src/model/trial-event.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { joinTruth, type JudgedCell } from '../../src/host/rehearsal/truth-join.ts';
import { openTruth } from '../../src/host/rig/truth-reader.ts';
import { listTrials, readPlannedMethod, readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { playShortTrial, type PlayedSession, type SessionPlay } from '../support/session-bench.ts';

const second = 1_000_000;
const folder = temporaryFolder();
afterAll(() => folder.clear());

interface Outcome {
  readonly record: TrialRecord;
  readonly cells: readonly JudgedCell[];
}

/** Plays a trial and reads it back: nothing is taken from the session. */
async function play(name: string, changes: Omit<SessionPlay, 'path' | 'seed'>): Promise<Outcome> {
  const path = folder.file(`${name}.chamberside`);
  await playShortTrial({ path, seed: 5, ...changes });
  const report = verify(path);
  expect(report.findings).toEqual([]);
  expect(report.trials).toMatchObject([{ sealed: true }]);
  const trial = listTrials(path)[0]?.trial ?? '';
  const record = readTrial(path, trial);
  const assessment = assess(record, readPlannedMethod(path, trial));
  return { record, cells: joinTruth(record, assessment, openTruth(`${path}.truth`)) };
}

function of<Kind extends TrialEvent['kind']>(record: TrialRecord, kind: Kind): TrialEventOf<Kind>[] {
  return record.events.filter((event): event is TrialEventOf<Kind> => event.kind === kind);
}

interface Moment {
  readonly name: string;
  readonly begins: (event: TrialEventOf<'dwell-began'>) => boolean;
  /** After the beginning of that dwell, µs. */
  readonly afterMicroseconds: number;
  /** Of ten cells: those that rest on both sides of the break, and at least so many without any doubt. */
  readonly doubtfulCells: number;
  readonly soundCells: number;
}

const thirdProbe = ({ dwell }: TrialEventOf<'dwell-began'>): boolean =>
  dwell.exercise === 'crawl' && dwell.dwellPosition === 3;
const moments: Moment[] = [
  {
    name: 'in the middle of a probe dwell',
    begins: thirdProbe,
    afterMicroseconds: 3.013 * second,
    doubtfulCells: 5,
    soundCells: 5,
  },
  {
    name: 'a moment before the valve is to move',
    begins: thirdProbe,
    afterMicroseconds: 6.997 * second,
    doubtfulCells: 5,
    soundCells: 5,
  },
  {
    name: 'a moment after the valve was told to move',
    begins: thirdProbe,
    afterMicroseconds: 1000,
    doubtfulCells: 5,
    soundCells: 5,
  },
  {
    name: 'while the challenge rises',
    begins: ({ dwell }) => dwell.stage === 'entry' && dwell.purpose === 'reference',
    afterMicroseconds: 2 * second,
    doubtfulCells: 0,
    soundCells: 10,
  },
  {
    name: 'in the reference before an exercise',
    begins: ({ dwell }) => dwell.stage === 'rest' && dwell.purpose === 'reference' && dwell.exercise === 'crawl',
    afterMicroseconds: 1.5 * second,
    doubtfulCells: 5,
    soundCells: 5,
  },
];

/** Lets something happen to the machine at that moment, once. */
function at(moment: Moment, happen: (played: PlayedSession) => void): NonNullable<SessionPlay['onEvent']> {
  let waiting = true;
  return (event, played) => {
    if (!waiting || event.kind !== 'dwell-began' || !moment.begins(event)) return;
    waiting = false;
    played.clock.after(moment.afterMicroseconds, () => happen(played));
  };
}

/** No number rests on both sides of a break in time without saying so. @returns how many do. */
function expectDoubtWhereTimeIsBroken({ record, cells }: Outcome): number {
  const segmentOfDwell = new Map<number | null, number>();
  for (const event of of(record, 'port-acknowledged')) {
    segmentOfDwell.set(event.dwell, segmentAt(record.segments, event.atMicroseconds));
  }
  let crossing = 0;
  for (const cell of cells) {
    for (const { dwell, zero, span, background, reading } of cell.parts) {
      const around = (value: InterpolatedReading | null | undefined): (number | null)[] =>
        value === null || value === undefined
          ? []
          : [value.beforeDwell, value.afterDwell].filter((each) => each !== null);
      const groups = [[dwell, ...around(zero), ...around(span)]];
      if (background !== null) groups.push([background.dwell, ...around(background.zero)]);
      const broken = groups.some((group) => new Set(group.map((each) => segmentOfDwell.get(each))).size > 1);
      const torn =
        reading !== null &&
        segmentAt(record.segments, reading.arrivalFromMicroseconds) !==
          segmentAt(record.segments, reading.arrivalToMicroseconds);
      if (!broken && !torn) continue;
      crossing += 1;
      expect(cell.flags, `${cell.exercise} ${cell.probe}`).toContain('gap');
    }
  }
  return crossing;
}

describe.each(moments)('a machine that sleeps $name', (moment) => {
  let outcome: Outcome;
  const asleep = 3600.5 * second;
  let sleptAt = 0;

  beforeAll(async () => {
    outcome = await play(moment.name.replaceAll(' ', '-'), {
      onEvent: at(moment, ({ clock, machine }) => {
        sleptAt = clock.now() - 7 * second;
        machine.sleep(asleep);
      }),
    });
  });

  it('begins a new segment, as long after the last sign of life as it slept', () => {
    const { record } = outcome;
    expect(record.segments.map((segment) => segment.reason)).toEqual(['start', 'wake']);
    const [first, wake] = record.segments;
    const [lost] = of(record, 'time-lost');
    expect(lost).toMatchObject({ cause: 'sleep', evidence: 'boot-clock' });
    // The photometer prints every 50 ms: that is the longest time between two signs of life.
    expect(sleptAt - (lost?.lostAtMicroseconds ?? 0)).toBeLessThan(0.1 * second);
    expect((wake?.beginsAtMicroseconds ?? 0) - sleptAt - asleep).toBeGreaterThanOrEqual(0);
    expect((wake?.beginsAtMicroseconds ?? 0) - sleptAt - asleep).toBeLessThan(0.1 * second);
    expect(lost?.lostMicroseconds).toBe((wake?.beginsAtMicroseconds ?? 0) - (lost?.lostAtMicroseconds ?? 0));
    const walls = Date.parse(wake?.wallAnchor ?? '') - Date.parse(first?.wallAnchor ?? '');
    expect(Math.abs(walls * 1000 - (wake?.beginsAtMicroseconds ?? 0))).toBeLessThanOrEqual(0.02 * second);
  });

  it('stamps nothing into the time in which the machine slept', () => {
    const begins = outcome.record.segments[1]?.beginsAtMicroseconds ?? 0;
    let after = 0;
    for (const { atMicroseconds } of outcome.record.streams) {
      expect(atMicroseconds.filter((time) => time > sleptAt && time < begins)).toHaveLength(0);
      after += atMicroseconds.filter((time) => time >= begins).length;
    }
    expect(after).toBeGreaterThan(500);
  });

  it('holds the trial as of the moment of loss, and does the broken dwell again', () => {
    const { record } = outcome;
    const [lost] = of(record, 'time-lost');
    const held = of(record, 'phase-changed').filter((event) => event.to === 'held');
    expect(held).toHaveLength(1);
    expect(held[0]?.atMicroseconds).toBe(lost?.lostAtMicroseconds);
    expect(held[0]?.reason).toContain('slept for 360');
    const broken = of(record, 'dwell-ended').filter((event) => !event.complete);
    expect(broken).toHaveLength(1);
    expect(broken[0]?.atMicroseconds).toBe(lost?.lostAtMicroseconds);
    const began = of(record, 'dwell-began');
    const first = began.find((event) => event.dwell.dwell === broken[0]?.dwell);
    const again = began.filter((event) => event.dwell.step === first?.dwell.step);
    expect(again).toHaveLength(2);
    expect(again[1]?.dwell).toEqual({ ...first?.dwell, dwell: again[1]?.dwell.dwell });
    expect(moment.begins(first as TrialEventOf<'dwell-began'>)).toBe(true);
    if (first?.dwell.purpose === 'probe') {
      const before = began[began.indexOf(again[1] as TrialEventOf<'dwell-began'>) - 1];
      expect(before?.dwell).toMatchObject({ purpose: 'zero', exercise: first.dwell.exercise });
    }
    // A dwell that is called complete lies on one side.
    const begins = record.segments[1]?.beginsAtMicroseconds ?? 0;
    for (const { dwell, atMicroseconds } of of(record, 'dwell-ended').filter((event) => event.complete)) {
      const start = began.find((event) => event.dwell.dwell === dwell)?.atMicroseconds ?? 0;
      expect(start >= begins || atMicroseconds <= (lost?.lostAtMicroseconds ?? 0)).toBe(true);
    }
  });

  it('raises an alarm that waits for somebody to see it', () => {
    const raised = of(outcome.record, 'alarm-raised').filter((event) => event.alarm === 'time-lost');
    expect(raised).toHaveLength(1);
    expect(raised[0]?.atMicroseconds).toBeGreaterThanOrEqual(outcome.record.segments[1]?.beginsAtMicroseconds ?? 0);
    expect(of(outcome.record, 'alarm-cleared').filter((event) => event.alarm === 'time-lost')).toHaveLength(1);
  });

  it('flags what rests on both sides of the break, and agrees with the truth where nothing does', () => {
    expect(expectDoubtWhereTimeIsBroken(outcome)).toBe(moment.doubtfulCells);
    const sound = outcome.cells.filter((cell) => !cell.flagged);
    expect(sound.length).toBeGreaterThanOrEqual(moment.soundCells);
    for (const cell of sound) expect(cell.withinTolerance, `${cell.exercise} ${cell.probe}`).toBe(true);
  });
});

describe('a wall clock', () => {
  it.each([3600 * second, -3600 * second])('that is set by %d µs is recorded, and disturbs nothing', async (by) => {
    const { record, cells } = await play(`set-${by}`, {
      onEvent: at(moments[0] as Moment, ({ machine }) => machine.setWall(by)),
    });
    expect(of(record, 'wall-clock-set').map((event) => event.byMicroseconds)).toEqual([by]);
    expect(of(record, 'time-lost')).toEqual([]);
    expect(of(record, 'phase-changed').some((event) => event.to === 'held')).toBe(false);
    expect(record.segments).toHaveLength(1);
    expect(cells.filter((cell) => cell.flagged)).toEqual([]);
  });

  it('that leaps ahead holds the trial where no boot clock can tell that the machine did not sleep', async () => {
    const { record } = await play('leap', {
      bootStepMicroseconds: null,
      onEvent: at(moments[0] as Moment, ({ machine }) => machine.setWall(60 * second)),
    });
    expect(of(record, 'time-lost')).toMatchObject([{ cause: 'sleep', evidence: 'wall-clock' }]);
    expect(record.segments.map((segment) => segment.reason)).toEqual(['start', 'wake']);
    const held = of(record, 'phase-changed').filter((event) => event.to === 'held');
    expect(held.map((event) => event.reason)).toEqual(['The machine slept for 60.0 s, or its clock was set ahead.']);
  });
});

describe('a machine that sleeps while the trial is held', () => {
  it('leaves it held, parks the valve again, and the exercise is still done to its end', async () => {
    let held = 0;
    const { record, cells } = await play('held', {
      onEvent(event, { clock, machine, session }) {
        if (event.kind === 'dwell-began' && thirdProbe(event) && held === 0) session.command('hold', 'p1', 'strap');
        if (event.kind !== 'phase-changed' || event.to !== 'held') return;
        held += 1;
        clock.after(2 * second, () => machine.sleep(30 * second));
      },
    });
    expect(held).toBe(1);
    expect(record.segments).toHaveLength(2);
    const parked = of(record, 'port-acknowledged').filter((event) => event.dwell === -1);
    expect(parked).toHaveLength(2);
    expect(parked[1]?.atMicroseconds).toBeGreaterThan(record.segments[1]?.beginsAtMicroseconds ?? Infinity);
    expect(of(record, 'phase-changed').at(-1)).toMatchObject({ to: 'closed', reason: 'the series is complete' });
    expect(cells.every((cell) => cell.windowPercent !== null)).toBe(true);
  });
});

describe('what people say of it', () => {
  it('is recorded with who said it, and an alarm is acknowledged only once', async () => {
    const outcomes: unknown[] = [];
    const { record } = await play('people', {
      onEvent: at(moments[0] as Moment, ({ machine }) => machine.sleep(10 * second)),
      atEnd({ session }) {
        expect(session.alarms.filter((alarm) => alarm.alarm === 'time-lost')).toMatchObject([
          { alarm: 'time-lost', instrument: null, acknowledged: false },
        ]);
        outcomes.push(session.acknowledgeAlarm('time-lost', null, 'p1', 'the lid was shut'));
        outcomes.push(session.acknowledgeAlarm('time-lost', null, 'p1', ''));
        outcomes.push(session.noteMark('p2', 'door of the chamber opened'));
        outcomes.push(session.noteMark('p2', 'and shut', -1500));
        expect(session.alarms.some((alarm) => alarm.alarm === 'time-lost')).toBe(false);
      },
    });
    const refusal = { accepted: false, reason: 'No alarm time-lost waits to be acknowledged.' };
    expect(outcomes).toEqual([{ accepted: true }, refusal, { accepted: true }, { accepted: true }]);
    expect(of(record, 'alarm-acknowledged')).toMatchObject([
      { alarm: 'time-lost', instrument: null, person: 'p1', reason: 'the lid was shut' },
    ]);
    expect(
      of(record, 'mark-noted').map(({ person, note, windowOffsetMicroseconds }) => [
        person,
        note,
        windowOffsetMicroseconds,
      ]),
    ).toEqual([
      ['p2', 'door of the chamber opened', undefined],
      ['p2', 'and shut', -1500],
    ]);
  });
});
