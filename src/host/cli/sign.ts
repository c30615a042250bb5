import { ChambersideError } from '../../model/error-code.ts';
import { codeSchema } from '../../model/identity.ts';
import { followSignatures, signatureStepSchema, signatureWords } from '../../model/signature.ts';
import { requireSigner } from '../compute/sign-job.ts';
import { listAssessments } from '../store/assessments.ts';
import { chooseAssessment } from '../store/chosen-assessment.ts';
import type { StoredAssessment } from '../store/contract.ts';
import { describeSignature, readSignatures, storeSignature } from '../store/signatures.ts';
import { keyFileOf } from '../store/signing-key.ts';
import { programVersion } from '../version.ts';
import { chosenTrial } from './chosen-trial.ts';
import { codeWords, type Command } from './command.ts';
import { notProven } from './not-proven.ts';
import type { AskPin } from './people.ts';

export function signCommand(askPin: AskPin): Command {
  return {
    name: 'sign',
    summary: 'sign an assessment as assessed, reviewed or released, or take the last signature back',
    operand: {
      name: 'step',
      words: [...signatureStepSchema.options, 'list'],
      help: 'what it is signed as; list: print what was signed so far, and sign nothing',
    },
    options: [
      { name: 'study', value: 'FILE', help: 'study file', required: true },
      { name: 'trial', value: 'ID', help: 'trial, default the only one; with several, they are listed' },
      { name: 'assessment', value: 'ID', help: 'which of its assessments, or its place from 1; default the only one' },
      { name: 'reason', value: 'TEXT', help: 'what was looked at, or why: kept and printed; 1 to 400 characters' },
      { name: 'person', value: 'CODE', help: 'who signs; the PIN is asked for' },
      { name: 'laboratory', value: 'FILE', help: 'laboratory file: registers the person; the key lies beside it' },
    ],
    notes: [
      'assessed: by anybody registered. reviewed: by a reviewer who neither signed it as assessed, not even by a',
      'signature that was taken back, nor had the assessment made. released: by a reviewer; of a real trial with the',
      'key of the laboratory (chamberside laboratory-key). withdrawn: a reviewer takes the last signature that stands',
      'back.',
      'The released assessment is the result of the trial; a new one stays beside it and takes signatures of its own.',
      'A virtual trial is signed as a rehearsal, and never by the key. A void trial is not signed.',
      'The PIN is asked for, or is the first line of a pipe.',
      ...notProven,
      'Exit status 0: signed, or listed. 1: refused, and it says why.',
    ],
    async run(values, output) {
      const word = values.operand();
      const path = values.text('study');
      const { trial } = chosenTrial(path, values.optional('trial'));
      if (word === 'list') {
        const signatures = readSignatures(path, trial);
        if (values.json) output.line(JSON.stringify({ trial, signatures }));
        else if (signatures.length === 0) output.line(`${trial}: nothing was signed.`);
        else for (const one of signatures) output.line(`${one.signature.assessment}  ${describeSignature(one)}`);
        return 0;
      }
      const step = signatureStepSchema.parse(word);
      const person = values.fitting('person', { schema: codeSchema, ...codeWords, otherwise: '' });
      const reason = values.text('reason').trim();
      if (reason.length > 400) {
        const what = 'the reason has more than 400 characters';
        throw new ChambersideError('usage-bad-value', what, '--reason', 'Shorten it.');
      }
      const laboratory = values.text('laboratory');
      const wanted = values.optional('assessment') ?? null;
      const all = listAssessments(path, trial);
      if (wanted === null && all.length > 1) throw several(all);
      const { assessment } = chooseAssessment(all, path, trial, wanted).stored;
      const { assessments, released } = followSignatures(readSignatures(path, trial).map(({ signature }) => signature));
      const last = assessments.get(assessment)?.standing.at(-1) ?? null;
      if (step === 'withdrawn' && last !== null) {
        output.note(`What is taken back: ${assessment}, ${signatureWords(last)} at ${last.createdAt}.`);
        if (last.number === released?.number) {
          output.note(`The result of ${trial} is then its newest assessment, ${all.at(-1)?.assessment ?? ''}.`);
        }
      }
      await requireSigner({ path, trial, step, laboratory, person, pin: await askPin(`PIN of ${person}`) });
      const asked = { trial, assessment, step, after: last?.number ?? null, person, reason, program: programVersion };
      const made = storeSignature(path, { ...asked, keyFile: keyFileOf(laboratory) });
      if (values.json) {
        output.line(JSON.stringify(made));
        return 0;
      }
      const { key, rehearsal } = made.signature;
      if (rehearsal) output.line('REHEARSAL: the trial is virtual, and nothing that is signed of it is a result.');
      output.line(`${assessment} of ${trial}: ${describeSignature(made)}`);
      output.line(`Head of the signatures: ${made.digest}`);
      if (key !== null) output.line(`Signed by the key of the laboratory, ${key.algorithm} ${key.fingerprint}`);
      if (key !== null) for (const text of notProven) output.note(text);
      return 0;
    },
  };
}

/** Which one is signed must not hang on who assessed last. */
function several(all: readonly StoredAssessment[]): ChambersideError {
  const names = all.map(({ assessment }, place) => `${place + 1} (${assessment})`).join(', ');
  const what = `--assessment is missing: the trial has ${all.length} of them`;
  return new ChambersideError('usage-unknown-option', what, 'chamberside sign', `Give one of: ${names}.`);
}
