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
  const forgotten: string[] = [];
  const made = createGuardDesk({
    folder: '/nowhere',
    clock: createFakeClock(),
    left: { reports, forget: (name) => forgotten.push(name) },
    onLost: () => undefined,
    onWatching: () => undefined,
    onRecord: (detail) => recorded.push(detail),
    onChange: () => undefined,
  });
  return { made, recorded, forgotten };
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
  });

  it('is recorded once, in the trial that it is about and in no other', () => {
    const { made, recorded, forgotten } = desk([report, { ...report, report: 'two', trial: null }]);
    made.setTrial({ file: 'a.chamberside', trial: 'trial-2' });
    expect(recorded).toEqual([]);
    made.setTrial({ file: 'a.chamberside', trial: 'trial-1' });
    made.setTrial(null);
    made.setTrial({ file: 'a.chamberside', trial: 'trial-1' });
    expect(recorded).toHaveLength(1);
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
