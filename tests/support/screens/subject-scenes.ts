import type { TrialSnapshot } from '../../../src/bridge/trial-snapshot.ts';
import { firstDay } from './made-up.ts';
import { madeUpTrial, trialDay } from './made-up-trial.ts';
import { middle, type Scene } from './scenes.ts';

const second = 1_000_000;
/** Lead-in, s after the beginning, of each exercise of the demo series: a rest of 30 s before each of 110 s. */
const first = 272;

function scene(name: string, trial: TrialSnapshot, at: number): Scene {
  return { name: `subject-${name}`, address: '/subject', snapshot: trialDay(trial), at };
}

const run = madeUpTrial(middle);
const still = { untilMicroseconds: null, air: 'none' } as const;
const rest = madeUpTrial(770 * second, { next: { kind: 'exercise', exercise: run.now.exercise, seconds: 110 } });

/** In the middle of each exercise of the series. */
const moving: readonly Scene[] = run.exercises.map((exercise, index) => {
  const began = exercise.beganAtMicroseconds ?? (first + 140 * index) * second;
  const at = began + 61.3 * second;
  const exercises = run.exercises.map((one, place) => ({
    ...one,
    state: place < index ? ('done' as const) : place === index ? ('now' as const) : ('to-come' as const),
    beganAtMicroseconds: place === index ? began : one.beganAtMicroseconds,
  }));
  const next = run.exercises[index + 1];
  return scene(
    exercise.exercise,
    {
      ...run,
      exercises,
      now: { ...run.now, exercise: exercise.exercise, untilMicroseconds: began + 110 * second },
      next:
        next === undefined
          ? { kind: 'closing', exercise: null, seconds: null }
          : { kind: 'rest', exercise: next.exercise, seconds: 30 },
    },
    at,
  );
});

/** Every state of the subject's display. */
export const subjectScenes: readonly Scene[] = [
  { name: 'subject-none', address: '/subject', snapshot: firstDay, at: null },
  scene('prepared', { ...run, phase: 'prepared', now: { ...run.now, ...still, kind: 'prepared' } }, middle),
  scene('entry', { ...run, now: { ...run.now, ...still, kind: 'waiting' } }, middle),
  scene('rest', rest, 770 * second),
  ...moving,
  scene('held', { ...run, phase: 'held', now: { ...run.now, ...still, kind: 'held' } }, middle),
  scene(
    'stopped',
    { ...run, phase: 'stopped', now: { ...run.now, ...still, kind: 'stopped' }, allowed: ['mark', 'close'] },
    middle,
  ),
  scene(
    'over',
    {
      ...run,
      phase: 'closed',
      now: { ...run.now, ...still, kind: 'closed' },
      exercises: run.exercises.map((one) => ({ ...one, state: 'done' })),
      allowed: [],
    },
    middle,
  ),
];
