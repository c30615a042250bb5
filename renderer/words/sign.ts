import type { SignatureRow } from '../../src/bridge/review.ts';
import type { SignatureStep } from '../../src/model/signature.ts';
import { clockOfDay, dayOf } from './times.ts';

const steps: Record<SignatureStep, string> = {
  assessed: 'Assessed',
  reviewed: 'Reviewed',
  released: 'Released',
  withdrawn: 'Taken back',
};

/** Signing an assessment as assessed, reviewed and released. */
export const signWords = {
  open: 'Sign',
  title: 'Sign an assessment',
  close: 'Back',
  which: 'Assessment',
  choice: (position: number, at: string, counts: boolean) =>
    `${position}, ${dayOf(at)} ${clockOfDay(at)}${counts ? ', counts' : ''}`,
  notOnScreen: (place: number) =>
    `Not what is on screen: the values are those of assessment ${place}. Look at this one first, in its difference ` +
    '(D), or in its report by the command line.',
  thenCounts: (place: number, state: string) =>
    `The result of the trial is then its newest assessment, number ${place}: ${state}.`,
  steps,
  stands: ({ createdAt, person }: Pick<SignatureRow, 'createdAt' | 'person'>) =>
    `by ${person}, ${dayOf(createdAt)} ${clockOfDay(createdAt)}`,
  notYet: 'not yet',
  otherReleased: (person: string) =>
    `Another assessment is released, by ${person}, and is the result until this one is.`,
  virtual: 'Virtual trial: it is signed as a rehearsal only, and by no key. No result comes of it.',
  isVoid: 'The trial is void: nothing of it is signed, but a signature can be taken back.',
  what: {
    assessed: 'You stand for how it was assessed. Somebody else has to review it.',
    reviewed: 'You have looked at trace, flags and choices, and neither assessed it nor had it assessed.',
    released: 'It becomes the result of the trial. Later assessments stay beside it.',
    withdrawn: 'The last signature that stands will count no more. Both stay in the record.',
  } satisfies Record<SignatureStep, string>,
  withKey: 'The key of the laboratory signs it too.',
  person: 'Who signs',
  pin: 'PIN',
  reason: 'Reason',
  reasonHint: 'What was looked at, or why. Stands in the report.',
  sign: (step: SignatureStep) => (step === 'withdrawn' ? 'Take it back' : `Sign as ${step}`),
  forward: (step: SignatureStep) => `Sign as ${step}`,
  back: 'Take back',
  parts: 'What to do',
  working: 'Signing',
  needs: 'Give a reason and the PIN.',
  nobody: 'Nobody is registered who may do this: add one under Person.',
  refused: ({ remedy, what }: { readonly what: string; readonly remedy: string }) => `${what}. ${remedy}`,
  list: 'Signed so far',
  row: ({ createdAt, person, step }: SignatureRow) =>
    `${dayOf(createdAt)} ${clockOfDay(createdAt)}, ${steps[step].toLowerCase()} by ${person}`,
  byKey: (fingerprint: string) => `key ${fingerprint.slice(0, 16)}`,
  notProven:
    'A signature proves that somebody knew the PIN, not who sat here, nor when, nor that the instruments were right.',
  unsigned: 'not signed',
  standing: ({ person, step }: Pick<SignatureRow, 'person' | 'step'>, rehearsal: boolean) =>
    `${step} by ${person}${rehearsal ? ', as a rehearsal' : ''}`,
};
