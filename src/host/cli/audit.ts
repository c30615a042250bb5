import { wallTimeIn } from '../clock/wall-time.ts';
import type { AuditEntry } from '../../study/audit.ts';
import { auditTrail } from '../../study/audit.ts';
import { readAudited } from '../store/read-audit.ts';
import { verifyCommand } from '../store/soundness.ts';
import { verify } from '../store/verify.ts';
import { chosenTrial } from './chosen-trial.ts';
import type { Command } from './command.ts';
import { formatTable } from './table.ts';

export const auditCommand: Command = {
  name: 'audit',
  summary: 'print who did what with the trials of a study, when and why, in the order of time',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'this trial only; default all' },
  ],
  notes: [
    'What people did in a trial, sealing, assessments, decisions that a trial is void, signatures, and what was',
    'taken back. Times are the computer’s. Each line stands in the study file under a digest; the file is verified',
    'first, and what is altered or missing is said. Save it with --json to export it.',
    'Exit status 0: the file is intact. 1: it is not; what is altered is said first, and what stands in the file is',
    'printed as long as every record of it can be read.',
  ],
  run(values, output) {
    const path = values.text('study');
    const named = values.optional('trial');
    const only = named === undefined ? undefined : chosenTrial(path, named).trial;
    const { findings, intact, sealHead, signatureHead, study } = verify(path);
    const wrong = findings.filter(({ severity }) => severity === 'bad');
    for (const { text } of wrong) output.note(`NOT INTACT: ${text}`);
    const entries = auditTrail(readAudited(path, only), wallTimeIn);
    if (values.json) {
      output.line(JSON.stringify({ study, intact, findings: wrong, sealHead, signatureHead, entries }));
    } else {
      const headings = ['time', 'trial', 'who', 'what', 'why'];
      const columns = headings.map((heading) => ({ heading, align: 'left' as const }));
      output.line(formatTable(columns, entries.map(row)));
    }
    if (!intact) output.note(verifyCommand(path));
    return Promise.resolve(intact ? 0 : 1);
  },
};

function row({ action, at, detail, persons, reason, trial }: AuditEntry): string[] {
  const what = detail === '' ? action : `${action}: ${detail}`;
  return [at, trial, persons.length === 0 ? '–' : persons.join(', '), what, reason];
}
