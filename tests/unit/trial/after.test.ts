import { describe, expect, it } from 'vitest';
import { afterItemSchema } from '../../../src/model/trial-event.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import { afterInWords, afterLines, afterRules, followAfter, refuseAfter } from '../../../src/trial/after.ts';
import type { AfterAnswers, AfterWanted } from '../../../src/trial/after.ts';
import { openLines } from '../../../src/trial/answer-list.ts';

const none: AfterAnswers = new Map();
const good = { verdict: 'good', text: 'back' } as const;
const lines = afterLines(none, { recovery: good, drift: { verdict: 'doubt', text: 'zero moved by 0.4 %' } });

function wanted(part: Partial<AfterWanted>): AfterWanted {
  return { item: 'symptoms', answer: 'confirmed', persons: ['KL'], note: '', ...part };
}

describe('the list of after the trial', () => {
  it('has every item that can be recorded, once, the subject first', () => {
    expect(afterRules.map(({ item }) => item).sort()).toEqual([...afterItemSchema.options].sort());
    expect(afterRules[0]?.item).toBe('recovery');
  });

  it('lets everything but the symptoms be passed over with a reason, and nothing without one', () => {
    for (const { item, must } of afterRules) {
      expect(refuseAfter(wanted({ item, answer: 'passed-over', note: 'why' }), lines) === null, item).toBe(!must);
      expect(refuseAfter(wanted({ item, answer: 'passed-over', note: ' ' }), lines), item).not.toBeNull();
    }
    expect(afterRules.filter(({ must }) => must).map(({ item }) => item)).toEqual(['symptoms']);
  });

  it('takes a good word only where nothing measured speaks against it, and a finding only in words', () => {
    expect(refuseAfter(wanted({ item: 'recovery' }), lines)).toBeNull();
    expect(refuseAfter(wanted({ item: 'drift' }), lines)?.[0]).toContain('0.4 %');
    expect(refuseAfter(wanted({ item: 'drift', answer: 'noted', note: 'span checked by hand' }), lines)).toBeNull();
    expect(refuseAfter(wanted({ answer: 'noted', note: '  ' }), lines)).not.toBeNull();
    const open = afterLines(none, { recovery: { verdict: 'open', text: 'watched' } });
    expect(refuseAfter(wanted({ item: 'recovery' }), open)).not.toBeNull();
  });

  it('follows what was said, taken back and said again, with what had been measured', () => {
    const said = (answer: 'noted' | 'withdrawn', at: number): TrialEvent => ({
      ...{ kind: 'after-answered', atMicroseconds: at, item: 'ensemble', answer, persons: ['KL'] },
      ...{ note: 'left sleeve torn', measured: '' },
    });
    const answers = followAfter(none, said('noted', 1));
    expect(openLines(afterLines(answers, {}))).toHaveLength(3);
    expect(answers.get('ensemble')).toMatchObject({ answer: 'noted', note: 'left sleeve torn', atMicroseconds: 1 });
    expect(openLines(afterLines(followAfter(answers, said('withdrawn', 2)), {}))).toHaveLength(4);
    // Another effort: what was said is of the one before.
    const effort: TrialEvent = { kind: 'exercise-began', atMicroseconds: 3, exercise: 'march', attempt: 2 };
    expect(followAfter(answers, effort).size).toBe(0);
    expect(none.size).toBe(0);
    expect(afterInWords('ensemble', 'noted')).toBe('Damage noted');
  });
});
