import { describe, expect, it } from 'vitest';
import { scenarios } from '../../../../drivers/virtual-rig/scenarios/index.ts';
import { createGuardDesk, guardReportWords } from '../../../../src/host/runtime/guard-desk.ts';
import type { GuardReport } from '../../../../src/safety/guard/messages.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';

const { cycle } = scenarios;
const did = { tries: 1, acknowledgedAfterMilliseconds: 31, failure: null };
const bike = { instrument: 'ergometer', what: 'load to zero', ...did };
const report: GuardReport = {
  report: 'one',
  at: '2026-03-02T10:11:12.345Z',
  why: 'the program did not answer for 1 s',
  trial: { file: 'a.chamberside', trial: 'trial-1' },
  done: true,
  acts: [bike],
};

function desk(reports: readonly GuardReport[]) {
  const recorded: string[] = [];
  const keep: (() => void)[] = [];
  const forgotten: string[] = [];
  const taking = { on: true };
  const made = createGuardDesk({
    folder: '/nowhere',
    clock: createFakeClock(),
    left: { reports, forget: (name) => void forgotten.push(name) },
    onLost: () => undefined,
    onWatching: () => undefined,
    onRecord(_trial, detail, kept) {
      if (!taking.on) return false;
      recorded.push(detail);
      keep.push(kept);
      return true;
    },
    onChange: () => undefined,
  });
  return { made, recorded, forgotten, keep, taking };
}

const ergometer = { instrument: 'ergometer', kind: 'ergometer', dialect: 'lines', settings: {} };

describe('what a guard did', () => {
  it('is said with time, cause and answer', () => {
    expect(guardReportWords(report)).toBe(
      'At 2026-03-02 10:11:12 UTC the guard took the loads because the program did not answer for 1 s: ' +
        'load to zero, acknowledged after 31 ms.',
    );
    const failed = { ...bike, tries: 3, acknowledgedAfterMilliseconds: null, failure: 'no answer' };
    expect(guardReportWords({ ...report, acts: [failed] })).toMatch(/NOT ACKNOWLEDGED in 3 tries \(no answer\)\.$/);
    expect(guardReportWords({ ...report, done: false, acts: [] })).toMatch(/: it ended before it had finished\.$/);
    const begun = { ...bike, tries: 0, acknowledgedAfterMilliseconds: null, failure: 'not finished' };
    expect(guardReportWords({ ...report, done: false, acts: [begun] })).toMatch(
      /: it ended before it had finished; load to zero, NOT ACKNOWLEDGED \(not finished\)\.$/,
    );
  });

  it('is recorded once, in the trial that it is about and in no other', () => {
    const { made, recorded, forgotten, keep } = desk([report, { ...report, report: 'two', trial: null }]);
    made.setTrial({ file: 'a.chamberside', trial: 'trial-2' });
    expect(recorded).toEqual([]);
    made.setTrial({ file: 'a.chamberside', trial: 'trial-1' });
    made.setTrial({ file: 'a.chamberside', trial: 'trial-1' });
    expect(forgotten).toEqual([]);
    for (const kept of keep) kept();
    made.setTrial(null);
    made.setTrial({ file: 'a.chamberside', trial: 'trial-1' });
    expect(recorded).toHaveLength(1);
    expect(forgotten).toEqual(['one']);
  });

  it('is recorded again when the record did not take it, or did not reach the disk', () => {
    const { made, recorded, forgotten, keep, taking } = desk([report]);
    const trial = { file: 'a.chamberside', trial: 'trial-1' };
    taking.on = false;
    made.setTrial(trial);
    taking.on = true;
    made.setTrial(trial);
    expect(recorded).toHaveLength(1);
    // The disk refused until the trial was given up.
    made.setTrial(null);
    made.setTrial(trial);
    expect(recorded).toHaveLength(2);
    expect(forgotten).toEqual([]);
    keep.at(-1)?.();
    expect(forgotten).toEqual(['one']);
  });

  it('is sealed with a trial that was closed when the host was lost', () => {
    const { made, forgotten } = desk([report]);
    expect(made.reportsOf('trial-2', 5).events).toEqual([]);
    const { events, kept } = made.reportsOf('trial-1', 5);
    expect(events).toMatchObject([
      { kind: 'alarm-raised', alarm: 'guard-parked', atMicroseconds: 5, detail: guardReportWords(report) },
      { kind: 'alarm-cleared', alarm: 'guard-parked', atMicroseconds: 5 },
    ]);
    kept();
    expect(forgotten).toEqual(['one']);
  });

  it('is shown with its instrument until then', () => {
    const { made } = desk([report]);
    made.begin(cycle.rig);
    expect(made.remarks(ergometer)).toEqual([guardReportWords(report)]);
  });
});

describe('a load', () => {
  it('without guard and without a time-out of its own is shown as such', () => {
    const { made } = desk([]);
    made.begin({ ...cycle.rig, guard: { load: false, valve: true } });
    expect(made.remarks(ergometer)).toEqual([expect.stringMatching(/^Not guarded, and no time-out of its own/)]);
    expect(made.remarks({ ...ergometer, settings: { ownTimeoutSeconds: 5 } })).toEqual([]);
    made.begin(cycle.rig);
    expect(made.remarks(ergometer)).toEqual([]);
  });
});
