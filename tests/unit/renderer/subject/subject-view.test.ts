import { describe, expect, it } from 'vitest';
import {
  beatsAt,
  cuesBetween,
  secondsLeft,
  subjectView,
  type SubjectView,
} from '../../../../renderer/subject/subject-view.ts';
import { madeUpTrial } from '../../../support/screens/made-up-trial.ts';
import { subjectScenes } from '../../../support/screens/subject-scenes.ts';

const second = 1_000_000;

function viewOf(name: string): SubjectView {
  const scene = subjectScenes.find((one) => one.name === `subject-${name}`);
  if (scene === undefined) throw new Error(`there is no scene ${name}`);
  return subjectView(scene.snapshot.trial);
}

describe('what the subject is shown', () => {
  it('says what to do in every state of a trial, and what comes next where something does', () => {
    const said = ['none', 'prepared', 'entry', 'rest', 'march', 'step-21', 'held', 'stopped', 'over'].map((name) => {
      const { kind, title, next } = viewOf(name);
      return [name, kind, title, next?.title ?? null];
    });
    expect(said).toEqual([
      ['none', 'wait', 'Please wait', null],
      ['prepared', 'wait', 'We begin soon', null],
      ['entry', 'wait', 'Please wait', 'Rest'],
      ['rest', 'rest', 'Rest', 'Side bends'],
      ['march', 'move', 'March on the spot', 'Rest'],
      ['step-21', 'move', 'Stepping, 21 a minute', 'Stand still'],
      ['held', 'paused', 'Rest now', null],
      ['stopped', 'stopped', 'Stopped', null],
      ['over', 'over', 'It is over', null],
    ]);
  });

  it('never shows a reading, a limit or an alarm', () => {
    for (const scene of subjectScenes) {
      const words = JSON.stringify(subjectView(scene.snapshot.trial));
      expect(words).not.toMatch(/%|mg|leak|heart|alarm|limit/i);
    }
  });

  it('tells somebody who was stopped to rest, when the trial is closed as well', () => {
    const run = madeUpTrial(818 * second);
    const closed = { ...run, phase: 'closed', now: { ...run.now, kind: 'closed', untilMicroseconds: null } } as const;
    expect(subjectView(closed).title).toBe('Stopped');
  });

  it('offers the stop exactly when the host would take it', () => {
    for (const { snapshot } of subjectScenes) {
      expect(subjectView(snapshot.trial).mayStop).toBe(snapshot.trial?.allowed.includes('stop') ?? false);
    }
  });
});

describe('the countdown', () => {
  it('shows the second that is left, never less than none', () => {
    const until = 100 * second;
    expect([99, 99.001, 99.999, 100, 101].map((at) => secondsLeft(until, at * second))).toEqual([1, 1, 1, 0, 0]);
    expect(secondsLeft(until, 58.4 * second)).toBe(42);
  });
});

describe('what the subject hears', () => {
  const view: SubjectView = {
    ...{ kind: 'move', title: 'March', how: '', movement: 'march', next: null, mayStop: true },
    untilMicroseconds: 20 * second,
    beat: { fromMicroseconds: 10 * second, perMinute: 60 },
  };

  it('is each beat once, the pitches in turn, whatever pieces the time is asked for in', () => {
    const whole = cuesBetween(view, 9 * second, 21 * second);
    const pieces: typeof whole = [];
    for (let at = 9 * second; at < 21 * second; at += 70_000) {
      pieces.push(...cuesBetween(view, at, Math.min(at + 70_000, 21 * second)));
    }
    expect(pieces).toEqual(whole);
    const beats = whole.filter(({ sound }) => sound.endsWith('beat'));
    const at = beats.map(({ atMicroseconds }) => atMicroseconds / second);
    expect(at).toEqual([10, 11, 12, 13, 14, 15, 16, 17, 18, 19]);
    expect(beats.slice(0, 3).map(({ sound }) => sound)).toEqual(['first-beat', 'second-beat', 'first-beat']);
  });

  it('counts the last three seconds and ends with a sound of its own', () => {
    const ends = cuesBetween(view, 16.5 * second, 21 * second).filter(({ sound }) => !sound.endsWith('beat'));
    expect(ends).toEqual([
      { atMicroseconds: 17 * second, sound: 'tick' },
      { atMicroseconds: 18 * second, sound: 'tick' },
      { atMicroseconds: 19 * second, sound: 'tick' },
      { atMicroseconds: 20 * second, sound: 'end' },
    ]);
  });

  it('is nothing when the trial is held or has stopped', () => {
    for (const name of ['held', 'stopped', 'over', 'none', 'prepared']) {
      expect(cuesBetween(viewOf(name), 0, 3_600 * second)).toEqual([]);
    }
  });

  it('has its beat from the first movement on', () => {
    expect([9, 10, 12.5].map((at) => beatsAt({ fromMicroseconds: 10 * second, perMinute: 60 }, at * second))).toEqual([
      -1, 0, 2.5,
    ]);
  });
});
