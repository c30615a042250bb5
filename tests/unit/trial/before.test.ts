import { describe, expect, it } from 'vitest';
import type { SupportingCertificate } from '../../../src/model/certificate.ts';
import { beforeItemSchema } from '../../../src/model/trial-event.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import { openLines } from '../../../src/trial/answer-list.ts';
import { beforeLines, beforeRules, followAnswers, refuseAnswer } from '../../../src/trial/before.ts';
import type { AnswerWanted, BeforeAnswers } from '../../../src/trial/before.ts';

const none: BeforeAnswers = new Map();
const lines = beforeLines(none, true);

function wanted(part: Partial<AnswerWanted>): AnswerWanted {
  return { item: 'clearance', answer: 'confirmed', persons: ['KL'], note: '', ...part };
}

describe('the list of before the start', () => {
  it('has every item that can be recorded, once', () => {
    expect(beforeRules.map(({ item }) => item).sort()).toEqual([...beforeItemSchema.options].sort());
  });

  it('lets clearance, consent and the stop be passed over by no reason, everything else by one', () => {
    for (const { item, must } of lines) {
      const withReason = refuseAnswer(wanted({ item, answer: 'passed-over', note: 'why' }), lines);
      expect(withReason === null, item).toBe(!must);
      expect(refuseAnswer(wanted({ item, answer: 'passed-over', note: ' ' }), lines), item).not.toBeNull();
    }
    expect(beforeRules.filter(({ must }) => must).map(({ item }) => item)).toEqual([
      'clearance',
      'consent',
      'subject-stop',
    ]);
  });

  it('has a person answer for the stop where the rig has no contact', () => {
    const stop = wanted({ item: 'subject-stop' });
    expect(refuseAnswer(stop, lines)).not.toBeNull();
    expect(refuseAnswer(stop, beforeLines(none, false))).toBeNull();
  });

  it('follows what was said, taken back and said again', () => {
    const said = (answer: 'confirmed' | 'passed-over' | 'withdrawn', at: number): TrialEvent => {
      const who = { persons: ['KL'], note: answer === 'passed-over' ? 'why' : '' };
      return { kind: 'before-answered', atMicroseconds: at, item: 'well', answer, ...who };
    };
    let answers = followAnswers(none, said('confirmed', 1));
    expect(answers.get('well')).toEqual({ answer: 'confirmed', persons: ['KL'], note: '', atMicroseconds: 1 });
    expect(openLines(beforeLines(answers, true))).toHaveLength(6);
    answers = followAnswers(answers, said('withdrawn', 2));
    expect(openLines(beforeLines(answers, true))).toHaveLength(7);
    answers = followAnswers(answers, said('passed-over', 3));
    expect(answers.get('well')).toMatchObject({ answer: 'passed-over', note: 'why' });
    expect(none.size).toBe(0);
    const other: TrialEvent = { kind: 'wall-clock-set', atMicroseconds: 4, byMicroseconds: 1 };
    expect(followAnswers(answers, other)).toBe(answers);
  });

  it('takes nothing back that was not said', () => {
    expect(refuseAnswer(wanted({ answer: 'withdrawn' }), lines)).not.toBeNull();
  });

  it('ask for a reason where a certificate does not hold, and for nothing where all do', () => {
    const expired: SupportingCertificate = {
      ...{ instrument: 'PH-1', kind: 'photometer', maker: 'a', model: 'b', serial: '4', standing: 'missing' },
      ...{ at: { place: 'instrument', name: 'photometer' }, certificate: null },
    };
    expect(beforeLines(none, true, [{ ...expired, standing: 'due-soon' }])).toEqual(beforeLines(none, true));
    const asked = beforeLines(none, true, [expired]);
    expect(asked.map(({ item }) => item)).toEqual([...lines.map(({ item }) => item), 'certificates']);
    expect(asked.at(-1)?.detail).toContain('PH-1 has none');
    const answer = { item: 'certificates' as const, persons: ['anna'], note: '' };
    expect(refuseAnswer({ ...answer, answer: 'confirmed' }, asked)).not.toBeNull();
    expect(refuseAnswer({ ...answer, answer: 'passed-over' }, asked)).not.toBeNull();
    expect(refuseAnswer({ ...answer, answer: 'passed-over', note: 'sent in, due back' }, asked)).toBeNull();
    expect(refuseAnswer({ ...answer, answer: 'passed-over', note: 'why' }, lines)).not.toBeNull();
  });
});
