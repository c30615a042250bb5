import { doubtfulCertificates } from '../model/certificate.ts';
import type { SupportingCertificate } from '../model/certificate.ts';
import type { BeforeAnswer, BeforeItem, TrialEvent } from '../model/trial-event.ts';
import { followList, lineFor } from './answer-list.ts';
import type { AnswerRefusal, ListRule } from './answer-list.ts';

/** An item of the list that is gone through before the subject is set in motion. */
export interface BeforeRule extends ListRule<BeforeItem> {
  /** Two people answer for it. */
  readonly two: boolean;
}

/** The list, in the order in which it is gone through. */
export const beforeRules: readonly BeforeRule[] = [
  {
    ...{ item: 'clearance', must: true, two: false, title: 'Medical clearance' },
    detail: 'Valid today for this work, given by the responsible person.',
  },
  {
    ...{ item: 'consent', must: true, two: false, title: 'Consent' },
    detail: 'The subject agrees to this trial, and knows that they may stop at any time.',
  },
  {
    ...{ item: 'well', must: false, two: false, title: 'Well today' },
    detail: 'Asked: no fever, no new medicine, rested, has drunk, nothing hurts.',
  },
  {
    ...{ item: 'ensemble', must: false, two: true, title: 'Ensemble closed' },
    detail: 'Seals, tapes, gloves, boots, hose and every sampling line, each seen by two people.',
  },
  {
    ...{ item: 'breathing-air', must: false, two: false, title: 'Breathing air and fan' },
    detail: 'Running and felt. Not measured here: fan off means stop, open the ensemble.',
  },
  {
    ...{ item: 'second-person', must: false, two: false, title: 'Second person within call' },
    detail: 'Able to open the ensemble and help the subject out.',
  },
  {
    ...{ item: 'subject-stop', must: true, two: false, title: 'Subject’s stop tried' },
    detail: 'The subject has tried how they stop: by contact, on their display, or by the sign agreed on.',
  },
  {
    ...{ item: 'certificates', must: false, two: false, title: 'Certificates not valid' },
    detail: 'A new one counts in a trial prepared anew.',
  },
];

export const answerWords: Readonly<Record<AnswerWanted['answer'], string>> = {
  ...{ confirmed: 'confirmed', 'passed-over': 'passed over', withdrawn: 'taken back' },
};

export function titleOf(item: BeforeItem): string {
  return beforeRules.find((rule) => rule.item === item)?.title ?? item;
}

/** How one item stands. */
export interface BeforeLine extends BeforeRule {
  /** A contact answers for it, and no person can: the subject presses it and lets it go. */
  readonly byContact: boolean;
  /** It cannot be confirmed, only passed over: the register says otherwise. */
  readonly passOnly: boolean;
  readonly answer: BeforeAnswer | null;
}

/** The answers that stand, by item. */
export type BeforeAnswers = ReadonlyMap<BeforeItem, BeforeAnswer>;

/** @returns the answers after one event more; the same map when it says nothing of the list. */
export function followAnswers(answers: BeforeAnswers, event: TrialEvent): BeforeAnswers {
  if (event.kind !== 'before-answered') return answers;
  const { item, answer, persons, note, atMicroseconds } = event;
  return followList(answers, item, answer === 'withdrawn' ? null : { answer, persons, note, atMicroseconds });
}

/** Short: it stands in one line of a list. */
function whatItLacks({ certificate, instrument }: SupportingCertificate): string {
  if (certificate === null) return `${instrument} has none`;
  return `${certificate.number} of ${instrument} ended on ${certificate.validUntil}`;
}

/**
 * @param hasStopContact the rig has a contact by which the subject stops: trying it is then what answers.
 * @param certificates frozen with the trial; those that do not hold are an item of their own.
 */
export function beforeLines(
  answers: BeforeAnswers,
  hasStopContact: boolean,
  certificates?: readonly SupportingCertificate[],
): BeforeLine[] {
  const doubtful = doubtfulCertificates(certificates).map(whatItLacks);
  return beforeRules
    .filter(({ item }) => item !== 'certificates' || doubtful.length > 0)
    .map((rule) => ({
      ...rule,
      ...(rule.item === 'certificates' ? { detail: `${doubtful.join('; ')}. ${rule.detail}` } : {}),
      byContact: rule.item === 'subject-stop' && hasStopContact,
      passOnly: rule.item === 'certificates',
      answer: answers.get(rule.item) ?? null,
    }));
}

/** What somebody wants to say of one item. */
export interface AnswerWanted {
  readonly item: BeforeItem;
  readonly answer: 'confirmed' | 'passed-over' | 'withdrawn';
  /** Codes: who says so, and for some items who has seen it too. */
  readonly persons: readonly string[];
  /** Why an item is passed over. */
  readonly note: string;
}

/** @returns why an answer cannot be taken, and what to do; null when it can. */
export function refuseAnswer(
  wanted: AnswerWanted,
  lines: readonly BeforeLine[],
): AnswerRefusal | null {
  const found = lineFor(wanted, lines, 'Without it nobody is set in motion.');
  if ('refused' in found) return found.refused;
  if (wanted.answer !== 'confirmed') return null;
  const { line } = found;
  const { title } = line;
  if (line.passOnly) {
    return [`${title}: the register says so`, 'Pass it over with a reason, or prepare the trial anew.'];
  }
  if (line.byContact) return [`${title}: the contact itself answers`, 'Have the subject press it, and let it go.'];
  if (!line.two) return null;
  const [first, second] = wanted.persons;
  return second === undefined || second === first
    ? [`${title} takes two people`, 'Choose who has seen it too.']
    : null;
}
