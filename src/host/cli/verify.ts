import { verify } from '../store/verify.ts';
import type { Command } from './command.ts';

export const verifyCommand: Command = {
  name: 'verify',
  summary: 'check that a study file is what was recorded',
  options: [{ name: 'study', value: 'FILE', help: 'study file', required: true }],
  notes: [
    'Reads everything and changes nothing: works on a read-only copy.',
    'Exit status 0: intact. 1: something is missing or altered, and it says what.',
  ],
  run(values, output) {
    const report = verify(values.text('study'));
    if (values.json) {
      output.line(JSON.stringify(report));
      return Promise.resolve(report.intact ? 0 : 1);
    }
    const sealsMissing = report.findings.filter(({ code }) => code === 'seal-missing');
    const withoutSeal = new Set(sealsMissing.map(({ trial }) => trial));
    for (const trial of report.trials) {
      const sealed = trial.sealed ? 'sealed' : withoutSeal.has(trial.trial) ? 'SEAL REMOVED' : 'not sealed';
      output.line(
        `trial ${trial.trial}  ${sealed}  ${trial.links} links  head ${trial.head}`,
      );
    }
    for (const finding of report.findings)
      output.line(`${finding.severity === 'bad' ? 'BAD ' : 'note'}  ${finding.text}`);
    output.line(report.intact ? 'Intact.' : 'NOT INTACT.');
    if (report.sealHead !== null) output.line(`Head of the seals: ${report.sealHead}`);
    output.line('Not covered:');
    for (const text of report.notCovered) output.line(`  ${text}`);
    return Promise.resolve(report.intact ? 0 : 1);
  },
};
