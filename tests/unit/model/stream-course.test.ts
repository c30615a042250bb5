import { expect, it } from 'vitest';
import { streamCourses } from '../../../src/model/stream-course.ts';
import type { StreamRecord, TrialRecord } from '../../../src/model/trial-record.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';

const { record } = syntheticTrial();
const [photometer] = record.streams as [StreamRecord];

/** The trial with readings at these times, s. */
function at(seconds: readonly number[], change: Partial<TrialRecord> = {}): TrialRecord {
  const atMicroseconds = Float64Array.from(seconds, (second) => Math.round(second * 1e6));
  const values = Float64Array.from(seconds, () => 1);
  return { ...record, events: [], ...change, streams: [{ ...photometer, atMicroseconds, values }] };
}
const twenty = Array.from({ length: 2_000 }, (_, index) => index * 0.05);
const courseOf = (trial: TrialRecord) => streamCourses(trial)[0];

it('an instrument that keeps time is read as often as is expected of it', () => {
  const { everySeconds, ...rest } = courseOf(at(twenty)) ?? { everySeconds: null };
  expect(everySeconds).toBeCloseTo(0.05, 9);
  expect(rest).toMatchObject({ readings: 2_000, silences: 0, silentSeconds: 0, longestSeconds: 0.05, problems: 0 });
});

it('one whose clock is slow by a thousandth shows it, whether its lines come singly or in chunks', () => {
  const slow = twenty.map((second) => 1.001 * second);
  expect(courseOf(at(slow))?.everySeconds).toBeCloseTo(0.05005, 7);
  const chunks = slow.map((_, index) => slow[Math.floor(index / 4) * 4] as number);
  expect(Math.abs((courseOf(at(chunks))?.everySeconds ?? 0) / 0.05005 - 1)).toBeLessThan(0.002);
});

it('a silence is counted and told, and is no slow clock', () => {
  const course = courseOf(at(twenty.filter((second) => second < 30 || second >= 37)));
  expect(course).toMatchObject({ readings: 1_860, silences: 1 });
  expect(course?.silentSeconds).toBeCloseTo(7.05, 6);
  expect(course?.longestSeconds).toBeCloseTo(7.05, 6);
  expect(course?.everySeconds).toBeCloseTo(0.05, 9);
});

it('a break of the recording is none of the instrument', () => {
  const [first] = record.segments;
  if (first === undefined) throw new Error('there is no segment');
  const second = { ...first, segment: 1, reason: 'restart' as const, beginsAtMicroseconds: 36_000_000 };
  const trial = at(twenty.filter((moment) => moment < 30 || moment >= 37), { segments: [first, second] });
  expect(courseOf(trial)).toMatchObject({ silences: 0, silentSeconds: 0, longestSeconds: 0.05 });
});

it('problems are counted by instrument; of nothing nothing is told', () => {
  const problem = { instrument: 'photometer', code: 'checksum-wrong', detail: '', bytes: null, atMicroseconds: 5 };
  const event = { kind: 'problem', atMicroseconds: 5, machine: null, problem } as unknown as TrialRecord['events'][0];
  expect(courseOf(at(twenty, { events: [event, event] }))?.problems).toBe(2);
  expect(courseOf(at([]))).toMatchObject({ readings: 0, everySeconds: null, longestSeconds: null });
});
