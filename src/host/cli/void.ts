import { ChambersideError } from '../../model/error-code.ts';
import { codeSchema } from '../../model/identity.ts';
import { requireReviewer } from '../compute/review-job.ts';
import { readVoidings, storeVoiding } from '../store/voidings.ts';
import { programVersion } from '../version.ts';
import { chosenTrial } from './chosen-trial.ts';
import { codeWords, type Command } from './command.ts';
import type { AskPin } from './people.ts';

export function voidCommand(askPin: AskPin): Command {
  return {
    name: 'void',
    summary: 'make a sealed trial void, or take that back; nothing recorded is changed',
    options: [
      { name: 'study', value: 'FILE', help: 'study file', required: true },
      { name: 'trial', value: 'ID', help: 'trial, default the only one; with several, they are listed' },
      { name: 'reason', value: 'TEXT', help: 'why: kept beside the trial, printed in the report; 1 to 400 characters' },
      { name: 'person', value: 'CODE', help: 'reviewer who decides it; the PIN is asked for' },
      { name: 'laboratory', value: 'FILE', help: 'laboratory file in which the reviewer is registered' },
      { name: 'withdraw', value: null, help: 'take it back: the trial counts again' },
      { name: 'list', value: null, help: 'print what was decided so far, and decide nothing' },
    ],
    notes: [
      'Each decision is a new record beside the sealed trial. Result and report stay readable and say that it is void;',
      'compare, judge and the study’s figures leave it out, count it and say so.',
      'The PIN is asked for, or is the first line of a pipe.',
      'Exit status 0: decided, or listed. 1: refused, and it says why.',
    ],
    async run(values, output) {
      const path = values.text('study');
      const { trial } = chosenTrial(path, values.optional('trial'));
      if (values.has('list')) {
        const voidings = readVoidings(path, trial);
        if (values.json) output.line(JSON.stringify({ trial, voidings }));
        else if (voidings.length === 0) output.line(`${trial}: nothing was decided.`);
        else for (const one of voidings) output.line(`${one.createdAt}  ${one.decision}  ${one.person}: ${one.reason}`);
        return 0;
      }
      const person = values.fitting('person', { schema: codeSchema, ...codeWords, otherwise: '' });
      const reason = values.text('reason').trim();
      if (reason.length > 400) {
        const what = 'the reason has more than 400 characters';
        throw new ChambersideError('usage-bad-value', what, '--reason', 'Shorten it.');
      }
      await requireReviewer(values.text('laboratory'), person, await askPin(`PIN of ${person}`));
      const decision = values.has('withdraw') ? 'withdrawn' : 'void';
      const made = storeVoiding(path, { trial, decision, person, reason, program: programVersion });
      if (values.json) output.line(JSON.stringify(made));
      else output.line(decision === 'void' ? `${trial} is void.` : `${trial} is void no longer: it counts again.`);
      return 0;
    },
  };
}
