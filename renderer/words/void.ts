import { clockOfDay, dayOf } from './times.ts';

/** A trial that a reviewer makes void, or lets count again. */
export const voidWords = {
  open: 'Void',
  title: 'Make this trial void',
  titleVoid: 'This trial is void',
  close: 'Back',
  what:
    'Its result and report stay readable and say that it is void. It takes part in no figure and no verdict of the ' +
    'study. Nothing that was recorded or assessed is changed.',
  whatBack: 'Taken back, the trial counts again. Both decisions stay beside it.',
  reason: 'Reason',
  reasonHint: 'Stands in the result and in the report.',
  makeVoid: 'Make it void',
  takeBack: 'Take it back',
  working: 'Keeping the decision',
  needs: 'Give a reason and the PIN.',
  list: 'Decided so far',
  row: (at: string, decision: 'void' | 'withdrawn', person: string) =>
    `${dayOf(at)} ${clockOfDay(at)}, ${decision === 'void' ? 'void' : 'taken back'} by ${person}`,
  mark: 'Void',
  by: (person: string, reason: string) => `by ${person}: ${reason}`,
  short: ({ person, reason }: { readonly person: string; readonly reason: string }) => `void by ${person}: ${reason}`,
};
