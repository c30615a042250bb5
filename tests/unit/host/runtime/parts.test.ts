import { describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { short } from '../../../../drivers/virtual-rig/scenarios/short.ts';
import type { Plan } from '../../../../src/bridge/contract.ts';
import type { Snapshot } from '../../../../src/bridge/snapshot.ts';
import type { KeptCheck } from '../../../../src/calibration/check/standing.ts';
import { figure } from '../../../../src/calibration/check/vocabulary.ts';
import { repeatedLimits, strictestHeartRate, watchedLimits } from '../../../../src/host/runtime/limits.ts';
import { compilePlan, previewPlan } from '../../../../src/host/runtime/preview.ts';
import { underWayRefusal } from '../../../../src/host/runtime/refusal.ts';
import { createSnapshotPublisher } from '../../../../src/host/runtime/snapshot-publisher.ts';
import { createValveWatch } from '../../../../src/host/runtime/valve-watch.ts';
import { alarmViews } from '../../../../src/host/runtime/view/alarms.ts';
import { graceMicroseconds, keepWindows } from '../../../../src/host/runtime/window-keeper.ts';
import { describeStreams } from '../../../../src/host/acquisition/acquisition.ts';
import { sustainedStrain } from '../../../../src/safety/heart-limits.ts';
import type { Alarm } from '../../../../src/safety/limits.ts';
import { compileSchedule } from '../../../../src/series/compile.ts';
import { nominalSeconds } from '../../../../src/series/timetable.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';

const refused = (code: string): unknown => expect.objectContaining({ code });

const plan: Plan = {
  file: 'study.chamberside',
  subject: 'S01',
  ensemble: 'A',
  series: { name: demo.series.name, version: demo.series.version },
  orderOffset: 2,
  heartRateLimit: 160,
  heartByAge: null,
  requirementPercent: null,
};
const check = (kind: 'zero' | 'span', passed: boolean): KeptCheck => ({
  number: kind === 'zero' ? 1 : 2,
  version: 1,
  madeAtMilliseconds: Date.parse('2026-01-05T08:00:00.000Z'),
  result: {
    check: kind,
    subject: null,
    condition: 'routine',
    at: '2026-01-05T08:00:00.000Z',
    person: 'anna',
    figures: [figure('mean', passed ? 0 : 2, 'mg/m3', { low: -1, high: 1 })],
    passed,
    detail: 'drawn',
    validDays: 1,
  },
});
const morning = Date.parse('2026-01-05T09:00:00.000Z');

describe('a plan', () => {
  const offered = [demo.series, short.series];

  it('is compiled with the row of the rotation that was chosen', () => {
    const compiled = compilePlan(plan, demo.rig, offered);
    expect(compiled.series.order.offset).toBe(2);
    const preview = previewPlan(compiled, plan, demo.rig, [], morning);
    const first = preview.exercises[0]?.dwells.map(({ probe }) => probe);
    const other = previewPlan(compilePlan({ ...plan, orderOffset: 0 }, demo.rig, offered), plan, demo.rig, [], morning);
    expect(first).not.toEqual(other.exercises[0]?.dwells.map(({ probe }) => probe));
    expect(preview.exercises).toHaveLength(10);
    // 18 s less switching twice, settling and three dispersions.
    expect(preview.exercises[0]?.dwells[0]?.usableSeconds).toBeCloseTo(12.46, 6);
    expect(preview.durationSeconds).toBeCloseTo(nominalSeconds(demo.series, 5), 6);
  });

  it('is refused for a series that is not offered, and without a limit where there is a belt', () => {
    const unknown = { ...plan, series: { name: 'other', version: 1 } };
    expect(() => compilePlan(unknown, demo.rig, offered)).toThrow(refused('action-refused'));
    expect(() => compilePlan({ ...plan, heartRateLimit: null }, demo.rig, offered)).toThrow(refused('action-refused'));
    const beltless = { ...demo.rig, heartRate: null };
    expect(compilePlan({ ...plan, heartRateLimit: null }, beltless, offered).schedule.steps.length).toBeGreaterThan(70);
  });

  it('warns of dwells without usable air and of checks that are missing or failed', () => {
    const slow = { ...short.rig, timeConstantSeconds: { value: 1, standardUncertainty: 0.03 } };
    const compiled = compilePlan({ ...plan, series: short.series }, slow, offered);
    const { warnings } = previewPlan(compiled, plan, slow, [check('zero', false)], morning);
    expect(warnings.some((text) => text.includes('on filtered air are too short to settle'))).toBe(true);
    expect(warnings.some((text) => text.includes('on a probe leave less than 3 s'))).toBe(true);
    expect(warnings).toContain('The span of this rig has not been checked.');
    expect(warnings).toContain('The last check of the zero failed: drawn');
    const passed = [check('zero', true), check('span', true)];
    const good = previewPlan(compilePlan(plan, demo.rig, offered), plan, demo.rig, passed, morning);
    expect(good.warnings).toEqual([]);
    const late = previewPlan(compilePlan(plan, demo.rig, offered), plan, demo.rig, passed, morning + 86_400_000);
    expect(late.warnings).toEqual([
      'The check of the zero is overdue since 2026-01-06.',
      'The check of the span is overdue since 2026-01-06.',
    ]);
  });

  it('warns of certificates that have ended or are missing, and of no others', () => {
    const about = { instrument: 'PH-1', kind: 'photometer', maker: 'a maker', model: 'a model', serial: '4' } as const;
    const certificate = {
      ...{ number: 'C-17', issuer: 'a laboratory', quantity: 'linearity', unit: '1', value: 1, record: 2 } as const,
      ...{ expandedUncertainty: 0.1, coverageFactor: 2, issuedOn: '2025-01-01', validUntil: '2025-12-31' },
      ...{ standardUncertainty: 0.05, degreesOfFreedom: null },
    };
    const at = { place: 'instrument', name: 'photometer' } as const;
    const of = (standing: 'expired' | 'missing' | 'due-soon', has = true) => ({
      ...{ ...about, at, standing, certificate: has ? certificate : null },
    });
    const passed = [check('zero', true), check('span', true)];
    const compiled = compilePlan(plan, demo.rig, offered);
    const all = [of('expired'), of('due-soon'), of('missing', false)];
    expect(previewPlan(compiled, plan, demo.rig, passed, morning, all).warnings).toEqual([
      'Certificate C-17 of PH-1 (linearity) ended with 2025-12-31.',
      'PH-1, the photometer of this rig, has no certificate.',
    ]);
  });
});

describe('the limit of the heart rate', () => {
  const streams = describeStreams(demo.rig);

  it('is the stricter of plan and belt', () => {
    expect(strictestHeartRate(demo.rig, streams, 160)).toBe(160);
    expect(strictestHeartRate(demo.rig, streams, 300)).toBe(240);
    expect(strictestHeartRate(demo.rig, streams, null)).toBe(240);
    expect(strictestHeartRate({ ...demo.rig, heartRate: null }, streams, 160)).toBeNull();
    const { heartRate } = watchedLimits(demo.rig, streams, { heartRateLimit: 160 });
    expect(heartRate).toMatchObject({ highest: 160, instrument: 'belt' });
    const beltless = { ...demo.rig, heartRate: null };
    expect(watchedLimits(beltless, streams, { heartRateLimit: 160 }).heartRate).toBeNull();
    expect(compileSchedule(demo.series, demo.rig).steps.length).toBeGreaterThan(0);
  });

  describe('of a trial that is repeated', () => {
    const strain = sustainedStrain('belt', { form: 'tanaka', sharePercent: 85, years: 40, sustainedMinutes: 3 });
    const earlier = { heartRateLimit: 160, heartRateLimitFrom: 'from', watch: strain === null ? [] : [strain] };

    it('goes with the belt, also under another name, and with nothing where there is none', () => {
      expect(repeatedLimits(earlier, demo.rig, streams)).toEqual(earlier);
      const renamed = { ...demo.rig, heartRate: 'strap' };
      const moved = streams.map((each) => (each.instrument === 'belt' ? { ...each, instrument: 'strap' } : each));
      expect(repeatedLimits(earlier, renamed, moved).watch).toMatchObject([{ instrument: 'strap', limit: 140 }]);
      const beltless = streams.filter(({ instrument }) => instrument !== 'belt');
      expect(repeatedLimits(earlier, { ...demo.rig, heartRate: null }, beltless)).toEqual({});
    });

    it('is refused where the rig has got a belt, and where it would never be watched', () => {
      expect(() => repeatedLimits({}, demo.rig, streams)).toThrowError(/has a belt/);
      expect(repeatedLimits({}, { ...demo.rig, heartRate: null }, streams)).toEqual({});
      const silent = streams.filter(({ stream }) => stream !== 'heart-rate');
      expect(() => repeatedLimits(earlier, demo.rig, silent)).toThrowError(/would not be watched/);
    });
  });
});

it('what is refused for a trial under way says to close it, or what a closed one waits for', () => {
  expect(underWayRefusal('t-1', false)).toMatchObject({ code: 'action-refused', remedy: 'Close it first.' });
  expect(underWayRefusal('t-1', true).remedy).toContain('list of after the trial');
});

describe('snapshots', () => {
  it('are told at most twenty times a second, the newest always, with ascending versions', async () => {
    const clock = createFakeClock();
    let state = 0;
    const build = (): Omit<Snapshot, 'version'> => ({ limitsWatched: state }) as Omit<Snapshot, 'version'>;
    const publisher = createSnapshotPublisher(clock, build);
    const told: Snapshot[] = [];
    const stop = publisher.listen((snapshot) => told.push(snapshot));
    for (let index = 1; index <= 100; index += 1) {
      state = index;
      publisher.mark();
      await clock.advanceTo(index * 10_000);
    }
    await clock.advanceTo(2_000_000);
    expect(told.length).toBeGreaterThan(15);
    expect(told.length).toBeLessThanOrEqual(21);
    expect(told.at(-1)?.limitsWatched).toBe(100);
    const versions = told.map(({ version }) => version);
    expect(versions).toEqual([...new Set(versions)].sort((one, other) => one - other));
    expect(publisher.snapshot()).toBe(told.at(-1));
    state = 101;
    publisher.mark();
    // Who asks gets the newest at once; who listens is told all the same.
    expect(publisher.snapshot().limitsWatched).toBe(101);
    await clock.advanceTo(3_000_000);
    expect(told.at(-1)?.limitsWatched).toBe(101);
    stop();
    publisher.mark();
    publisher.end();
    expect(clock.pending).toBe(0);
    expect(told.at(-1)?.limitsWatched).toBe(101);
  });
});

describe('windows', () => {
  it('are missed only when none is there for the time of grace', async () => {
    const clock = createFakeClock();
    const seen: string[] = [];
    const keeper = keepWindows(clock, {
      onAlone: () => seen.push('alone'),
      onCompany: () => seen.push('company'),
      onChange: () => undefined,
    });
    keeper.closed({ window: 9 });
    keeper.opened({ window: 1 });
    keeper.opened({ window: 2 });
    expect(keeper.count).toBe(2);
    keeper.closed({ window: 1 });
    await clock.advanceTo(10 * graceMicroseconds);
    expect(seen).toEqual(['company', 'company']);
    keeper.closed({ window: 2 });
    await clock.advanceTo(clock.now() + graceMicroseconds - 1);
    keeper.opened({ window: 3 });
    await clock.advanceTo(clock.now() + 10 * graceMicroseconds);
    expect(seen).toEqual(['company', 'company', 'company']);
    keeper.closed({ window: 3 });
    await clock.advanceTo(clock.now() + graceMicroseconds);
    expect(seen.at(-1)).toBe('alone');
    keeper.end();
    expect(clock.pending).toBe(0);
  });
});

describe('the valve', () => {
  it('is moving, then confirmed with its time, or unconfirmed; an older answer counts for nothing', async () => {
    const clock = createFakeClock();
    const answers: { resolve: (at: number) => void; reject: (error: Error) => void }[] = [];
    const watch = createValveWatch(clock.now, () => undefined);
    const selector = watch.watch({
      select: () =>
        new Promise((resolve, reject) => {
          answers.push({ resolve: (atMicroseconds) => resolve({ atMicroseconds }), reject });
        }),
      position: () => Promise.resolve({ port: 3, atMicroseconds: 0 }),
    });
    expect(watch.state).toMatchObject({ state: 'unknown', confirmedPort: null });
    const first = selector.select(2);
    expect(watch.state).toMatchObject({ state: 'moving', requestedPort: 2 });
    answers[0]?.resolve(80_000);
    await first;
    expect(watch.state).toEqual({ state: 'confirmed', requestedPort: 2, confirmedPort: 2, answerMilliseconds: 80 });
    const second = selector.select(4);
    const third = selector.select(5);
    answers[2]?.resolve(90_000);
    await third;
    answers[1]?.reject(new Error('late'));
    await expect(second).rejects.toThrow('late');
    expect(watch.state).toMatchObject({ state: 'confirmed', confirmedPort: 5 });
    const fourth = selector.select(6);
    answers[3]?.reject(new Error('silent'));
    await expect(fourth).rejects.toThrow('silent');
    expect(watch.state).toMatchObject({ state: 'unconfirmed', requestedPort: 6, confirmedPort: 5 });
    watch.lost();
    expect(watch.state).toMatchObject({ state: 'unknown', confirmedPort: null });
  });
});

describe('the alarm row', () => {
  it('has what nobody has seen first, the person before the instrument, what stands before what has gone', () => {
    const alarm = (name: string, part: Partial<Alarm>): Alarm => ({
      alarm: name,
      instrument: null,
      detail: name,
      raisedAtMicroseconds: 0,
      clearedAtMicroseconds: null,
      acknowledged: false,
      ...part,
    });
    const views = alarmViews(
      [
        alarm('silence-concentration', { clearedAtMicroseconds: 4_000_000, raisedAtMicroseconds: 1_500_000 }),
        alarm('connection-lost', { acknowledged: true }),
        alarm('valve-unconfirmed', {}),
        alarm('commit-late', { raisedAtMicroseconds: 2_000_000 }),
        alarm('heart-rate-high', { clearedAtMicroseconds: 1_000_000 }),
      ],
      'exercises',
      [],
      (at) => new Date(at / 1000).toISOString(),
    );
    expect(views.map(({ alarm: name }) => name)).toEqual([
      'heart-rate-high',
      'commit-late',
      'valve-unconfirmed',
      'silence-concentration',
      'connection-lost',
    ]);
    expect(views[0]).toMatchObject({ priority: 'high', lastedSeconds: 1 });
    expect(views[0]?.action).toContain('look at the subject');
    expect(views[1]).toMatchObject({ raisedAt: '1970-01-01T00:00:02.000Z', lastedSeconds: null });
    expect(views[3]?.lastedSeconds).toBe(2.5);
    expect(views.every(({ action }) => action.length > 10)).toBe(true);
  });
});
