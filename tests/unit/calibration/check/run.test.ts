import { describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { checkDefinitions } from '../../../../src/calibration/check/definitions.ts';
import { advanceCheck, answersFit, beginCheckMachine, presentStep } from '../../../../src/calibration/check/machine.ts';
import type { CheckMachine } from '../../../../src/calibration/check/machine.ts';
import { supportingChecks, standingsOf } from '../../../../src/calibration/check/standing.ts';
import type { KeptCheck } from '../../../../src/calibration/check/standing.ts';
import type { CheckStep } from '../../../../src/calibration/check/step.ts';
import { checkKinds, figure, verdict } from '../../../../src/calibration/check/vocabulary.ts';
import type { CheckKind } from '../../../../src/calibration/check/vocabulary.ts';
import { judgeLevel } from '../../../../src/calibration/steadiness.ts';
import { virtualCheck } from '../../../support/checks/virtual-check.ts';

const second = 1_000_000;

describe('a check under way', () => {
  const settle: CheckStep = {
    step: 'settle',
    part: 'zero',
    leastSeconds: 2,
    windowSeconds: 2,
    mostSeconds: 20,
    settle: { rule: 'level', mostChange: 0.1, mostChangePercent: 0 },
  };
  const level = (value: (seconds: number) => number, until: number) =>
    Array.from({ length: until * 20 }, (_, index) => ({
      atMicroseconds: (index / 20) * second,
      value: value(index / 20),
    }));

  it('goes on when the air has settled, and not before', () => {
    const falling = (seconds: number): number => 10 * Math.exp(-seconds);
    let machine = beginCheckMachine([settle]);
    let endedAt = 0;
    for (let tick = 0; tick < 200 && presentStep(machine) !== null; tick += 1) {
      endedAt = tick / 10;
      machine = advanceCheck(machine, { event: 'tick', recent: level(falling, endedAt + 0.1) }, tick * 0.1 * second);
    }
    // From one second to the next the mean falls by 10 e^(−t) (e − 1)², which is 0.1 at t = ln(100 (e − 1)²) = 5.69 s.
    const settled = Math.log(100 * (Math.E - 1) ** 2);
    expect(Math.abs(endedAt - settled)).toBeLessThan(0.2);
    expect(machine.done).toMatchObject([{ steady: true }]);
  });

  it('gives up on air that never settles, and says so', () => {
    const rising = (seconds: number): number => seconds;
    let machine = beginCheckMachine([settle]);
    for (let tick = 0; tick <= 200; tick += 1) {
      machine = advanceCheck(machine, { event: 'tick', recent: level(rising, tick / 10) }, tick * 0.1 * second);
    }
    expect(machine.done).toMatchObject([{ steady: false, endedAtMicroseconds: 20 * second }]);
  });

  it('takes an answer only where one is asked for, and only one that fits', () => {
    const field = { field: 'pulse', kind: 'number', unit: null, proposed: null, low: 20, high: 250 } as const;
    const ask: CheckStep = { step: 'ask', part: 'belt', ask: 'pulse', probe: null, place: null, fields: [field] };
    const machine: CheckMachine = beginCheckMachine([ask, { step: 'read', part: 'belt', seconds: 1 }]);
    for (const answers of [{}, { pulse: 10 }, { pulse: Number.NaN }, { pulse: 70, other: 1 }, { other: 70 }]) {
      expect(advanceCheck(machine, { event: 'answer', answers, daySeconds: 0 }, second)).toBe(machine);
      expect(answersFit([field], answers as Record<string, number>)).toBe(false);
    }
    const next = advanceCheck(machine, { event: 'answer', answers: { pulse: 70 }, daySeconds: 5 }, second);
    expect(next.done).toMatchObject([{ answers: { pulse: 70 }, daySeconds: 5 }]);
    expect(advanceCheck(next, { event: 'answer', answers: { pulse: 70 }, daySeconds: 5 }, second)).toBe(next);
    const over = advanceCheck(next, { event: 'tick', recent: [] }, 2 * second);
    expect(presentStep(over)).toBeNull();
    expect(advanceCheck(over, { event: 'tick', recent: [] }, 3 * second)).toBe(over);
  });

  it('does not call a level steady that it cannot see', () => {
    const limits = { windowMicroseconds: 2 * second, mostChange: 1, mostChangePercent: 0, missingShare: 0.1 };
    const readings = level(() => 1, 4);
    expect(judgeLevel(readings, 3.9 * second, 0, limits)).toBe(true);
    expect(judgeLevel(readings, 3.9 * second, 3 * second, limits)).toBe(false);
    expect(judgeLevel([], 3.9 * second, 0, limits)).toBe(false);
    expect(judgeLevel(readings.filter((_, index) => index < 60), 3.9 * second, 0, limits)).toBe(false);
    const broken = readings.map((one) => ({ ...one, value: Number.NaN }));
    expect(judgeLevel(broken, 3.9 * second, 0, limits)).toBe(false);
  });
});

describe('a valve', () => {
  it('is moved to every position and asked where it stands', async () => {
    const { figure: of, verdict: found } = await virtualCheck({ scenario: demo, seed: 1, check: 'valve' });
    expect(found.passed).toBe(true);
    expect(of('positions')).toMatchObject({ value: 8, passed: true });
    // It moves for 0.15 s and answers 0.05 s later.
    expect(of('slowest-answer').value).toBeCloseTo(
      demo.rig.valveSwitchingSeconds + demo.valve.acknowledgeDelaySeconds,
      2,
    );
  });

  it.each(['wrong', 'never'] as const)('that answers %s fails with the ports named', async (behaviour) => {
    const { figure: of, verdict: found } = await virtualCheck({
      scenario: demo,
      seed: 1,
      check: 'valve',
      before: (rig) => rig.inject({ fault: 'valve', behaviour, seconds: 3600 }),
    });
    expect(found.passed).toBe(false);
    expect(of('positions').value).toBeLessThan(8);
    expect(found.detail).toMatch(/Port \d/);
  });
});

describe('belt and clocks', () => {
  it('are held against what a person counts and sees', async () => {
    const rate = demo.subject.restPerMinute;
    const belt = await virtualCheck({ scenario: demo, seed: 1, check: 'belt', answers: () => ({ pulse: rate }) });
    expect(belt.verdict.passed).toBe(true);
    expect(Math.abs(belt.figure('difference').value ?? Number.NaN)).toBeLessThan(3);
    const off = await virtualCheck({ scenario: demo, seed: 1, check: 'belt', answers: () => ({ pulse: rate + 20 }) });
    expect(off.verdict.passed).toBe(false);
  });

  it('know the rhythm of every instrument, and the difference of two clocks around midnight', async () => {
    const { record, figure: of } = await virtualCheck({
      scenario: demo,
      seed: 1,
      check: 'clock',
      answers: () => ({ time: 1 }),
    });
    expect(of('interval photometer concentration').value).toBeCloseTo(0, 3);
    expect(of('interval belt heart-rate').value).toBeCloseTo(0, 3);
    const at = (told: number, here: number): number | null | undefined => {
      const steps = record.steps.map((one) =>
        one.step.step === 'ask' ? { ...one, answers: { time: told }, daySeconds: here } : one,
      );
      return checkDefinitions.clock.evaluate({ ...record, steps }, demo.rig).figures[0]?.value;
    };
    expect(at(1, 86_399.5)).toBeCloseTo(-1.5, 6);
    expect(at(86_399, 1)).toBeCloseTo(2, 6);
  });
});

describe('every check', () => {
  it.each(checkKinds)('%s judges an empty record, and refuses to pass it', (check) => {
    const definition = checkDefinitions[check];
    const subject = definition.subjects(demo.rig)[0] ?? null;
    const empty = { form: 1, check, subject, steps: [], streams: [] } as const;
    const found = definition.evaluate({ ...empty, steps: [], streams: [] }, demo.rig);
    expect(found.passed).toBe(false);
    expect(found.detail).not.toBe('');
  });

  it('is refused on a line that the rig has not', async () => {
    await expect(virtualCheck({ scenario: demo, seed: 1, check: 'dilution', subject: 'knee' })).rejects.toMatchObject({
      code: 'action-refused',
    });
  });

  it('is what a trial rests on, as it stood then, once it was made', () => {
    const day = 86_400_000;
    const made = (number: number, check: CheckKind, passed: boolean, subject: string | null = null): KeptCheck => ({
      ...{ number, version: 1, madeAtMilliseconds: 0 },
      result: {
        ...{ check, subject, condition: 'routine', at: '1970-01-01T00:00:00.000Z', person: 'AM', validDays: 10 },
        ...{ passed, figures: [], detail: '' },
      },
    });
    const before = [made(1, 'zero', false), made(2, 'zero', true), made(3, 'span', false)];
    const kept = [...before, made(4, 'dilution', true, 'ankle')];
    const at = (days: number) =>
      supportingChecks(demo.rig, kept, days * day).map((one) => [one.number, one.name, one.standing]);
    expect(at(1)).toEqual([
      [2, 'zero', 'valid'],
      [3, 'span', 'failed'],
      [4, 'dilution, Ankle', 'valid'],
    ]);
    expect(at(9).map((one) => one[2])).toEqual(['due-soon', 'failed', 'due-soon']);
    expect(at(11).map((one) => one[2])).toEqual(['overdue', 'failed', 'overdue']);
    expect(supportingChecks(demo.rig, [], day)).toEqual([]);
  });

  it('is on the list once for the rig, or once for each line', () => {
    const standings = standingsOf(demo.rig, [], 0);
    expect(standings.filter(({ check }) => check === 'dilution')).toHaveLength(5);
    expect(standings.filter(({ check }) => check === 'response')).toHaveLength(1);
    const bare = { ...demo.rig, bypass: false, heartRate: null };
    const kinds = new Set(standingsOf(bare, [], 0).map(({ check }) => check));
    expect([kinds.has('response'), kinds.has('belt'), kinds.has('zero')]).toEqual([false, false, true]);
  });
});

describe('a check that was made', () => {
  const kept = (number: number, at: string, passed: boolean, validDays = 30): KeptCheck => ({
    number,
    version: 1,
    madeAtMilliseconds: Date.parse(at),
    result: {
      ...verdict([figure('mean', passed ? 0 : 9, 'mg/m3', { high: 1 })], ''),
      check: 'linearity',
      subject: null,
      condition: 'routine',
      at,
      person: 'anna',
      validDays,
    },
  });
  const standing = (results: readonly KeptCheck[], now: string): string | undefined =>
    standingsOf(demo.rig, results, Date.parse(now)).find(({ check }) => check === 'linearity')?.standing;
  const made = kept(1, '2026-01-01T08:00:00Z', true);

  it('holds, falls due, and is overdue', () => {
    expect(standing([], '2026-01-01T08:00:00Z')).toBe('never');
    expect(standing([made], '2026-01-02T08:00:00Z')).toBe('valid');
    expect(standing([made], '2026-01-28T08:00:00Z')).toBe('due-soon');
    expect(standing([made], '2026-01-31T08:00:00Z')).toBe('due-soon');
    expect(standing([made], '2026-01-31T08:00:01Z')).toBe('overdue');
  });

  it('is undone by a later failure, and mended by a pass after it', () => {
    const failed = kept(2, '2026-01-02T08:00:00Z', false);
    expect(standing([failed, made], '2026-01-02T09:00:00Z')).toBe('failed');
    const mended = kept(3, '2026-01-02T10:00:00Z', true);
    expect(standing([mended, failed, made], '2026-01-02T11:00:00Z')).toBe('valid');
  });
});
