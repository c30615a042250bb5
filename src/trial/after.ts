import type { AfterAnswer, AfterItem, TrialEvent } from '../model/trial-event.ts';
import { followList, lineFor } from './answer-list.ts';
import type { AnswerRefusal, ListRule } from './answer-list.ts';

/** An item of the list that is gone through when the series has ended or the trial was stopped. */
export interface AfterRule extends ListRule<AfterItem> {
  /** What is said by the two answers: nothing was found, or something was, which is noted. */
  readonly good: string;
  readonly found: string;
}

/** The list, in the order in which it is gone through: the subject first. */
export const afterRules: readonly AfterRule[] = [
  {
    ...{ item: 'recovery', must: false, title: 'Subject’s recovery', good: 'Recovered', found: 'Noted' },
    detail: 'Out of the ensemble, sitting, watched until the heart rate is back. Not watched: pass it over.',
  },
  {
    ...{ item: 'symptoms', must: true, title: 'Symptoms asked', good: 'None', found: 'Noted' },
    detail: 'Asked: dizzy, sick, headache, short of breath, hot, cramps, skin. Could not be asked: note why.',
  },
  {
    ...{ item: 'ensemble', must: false, title: 'Ensemble inspected', good: 'Intact', found: 'Damage noted' },
    detail: 'Seams, seals, tapes, gloves, boots, visor, hose, every sampling line and probe in its place.',
  },
  {
    ...{ item: 'drift', must: false, title: 'Zero and challenge', good: 'Seen', found: 'Doubt noted' },
    detail: 'First against last filtered air and chamber air of the trial, as measured.',
  },
];

/** What an answer says of its item, in words: `Damage noted`, `passed over`, `taken back`. */
export function afterInWords(item: AfterItem, answer: AfterAnswer['answer'] | 'withdrawn'): string {
  if (answer === 'passed-over') return 'Passed over';
  if (answer === 'withdrawn') return 'Taken back';
  const rule = afterRules.find((one) => one.item === item);
  return (answer === 'confirmed' ? rule?.good : rule?.found) ?? answer;
}

export function afterTitle(item: AfterItem): string {
  return afterRules.find((rule) => rule.item === item)?.title ?? item;
}

/** What was measured for an item. `open`: not yet, or it cannot be told. */
export interface Measured {
  readonly verdict: 'good' | 'doubt' | 'open';
  readonly text: string;
}

/** How one item stands. */
export interface AfterLine extends AfterRule {
  /** Null for an item of which nothing is measured. */
  readonly measured: Measured | null;
  readonly answer: AfterAnswer | null;
}

/** The answers that stand, by item. */
export type AfterAnswers = ReadonlyMap<AfterItem, AfterAnswer>;

/**
 * @returns the answers after one event more; the same map when it says nothing of the list. Another effort takes all of
 *   them back: they say how the subject was after the one before.
 */
export function followAfter(answers: AfterAnswers, event: TrialEvent): AfterAnswers {
  if (event.kind === 'exercise-began') return answers.size === 0 ? answers : new Map();
  if (event.kind !== 'after-answered') return answers;
  const { item, answer, persons, note, measured, atMicroseconds } = event;
  const given = answer === 'withdrawn' ? null : { answer, persons, note, measured, atMicroseconds };
  return followList(answers, item, given);
}

export function afterLines(
  answers: AfterAnswers,
  measured: Partial<Readonly<Record<AfterItem, Measured>>>,
): AfterLine[] {
  return afterRules.map((rule) => ({
    ...rule,
    measured: measured[rule.item] ?? null,
    answer: answers.get(rule.item) ?? null,
  }));
}

/** What somebody wants to say of one item. */
export interface AfterWanted {
  readonly item: AfterItem;
  readonly answer: 'confirmed' | 'noted' | 'passed-over' | 'withdrawn';
  /** Code of who says so. */
  readonly persons: readonly string[];
  /** What was found, or why an item is passed over. */
  readonly note: string;
}

/** @returns why an answer cannot be taken, and what to do; null when it can. */
export function refuseAfter(wanted: AfterWanted, lines: readonly AfterLine[]): AnswerRefusal | null {
  const found = lineFor(wanted, lines, 'There is always an answer: note what is known.');
  if ('refused' in found) return found.refused;
  const { measured, title } = found.line;
  if (wanted.answer === 'noted' && wanted.note.trim() === '') {
    return [`${title}: nothing is noted`, 'Say what was found; it is stored with the trial.'];
  }
  if (wanted.answer === 'confirmed' && measured !== null && measured.verdict !== 'good') {
    return [`${title}: ${measured.text}`, 'Note what was found, or pass it over with a reason.'];
  }
  return null;
}

/** Whether the subject was ever told to enter: a trial without has nobody to look after. */
export function hasEntered(events: readonly TrialEvent[]): boolean {
  return events.some((event) => event.kind === 'cue' && event.cue === 'enter');
}

/** The list as a whole record leaves it; what was measured is what stood when it was answered. */
export function afterOfRecord(events: readonly TrialEvent[]): AfterLine[] {
  let answers: AfterAnswers = new Map();
  for (const event of events) answers = followAfter(answers, event);
  return afterLines(answers, {});
}
