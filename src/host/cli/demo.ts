import { makeDemoStudy } from '../rehearsal/demo-study.ts';
import { programVersion } from '../version.ts';
import type { Command } from './command.ts';
import { formatPercent } from './table.ts';

export const demoCommand: Command = {
  name: 'demo',
  summary: 'make a study of virtual trials to look at: several subjects in two ensembles',
  options: [
    { name: 'out', value: 'FILE', help: 'study file to make; it must not be there', required: true },
    { name: 'seed', value: 'N', help: 'whole number from 0 to 1000000, default 1: the same seed, the same physics' },
    { name: 'subjects', value: 'N', help: 'how many, 1 to 99, default 6; each wears both ensembles' },
  ],
  notes: [
    'Every trial is rehearsed on the virtual rig, recorded, sealed and assessed: some seconds each. The truth of each',
    'lies beside the study. Ctrl-C ends it; what is recorded stays.',
    'See it: npx --no-install chamberside compare --study FILE, or put it into the folder of `start`, press Compare.',
  ],
  async run(values, output) {
    const path = values.text('out');
    const seed = values.wholeNumber('seed', { least: 0, most: 1_000_000, otherwise: 1 });
    const subjects = values.wholeNumber('subjects', { least: 1, most: 99, otherwise: 6 });
    const interruption = new AbortController();
    const interrupt = (): void => interruption.abort();
    process.once('SIGINT', interrupt);
    process.once('SIGTERM', interrupt);
    try {
      let done = 0;
      const trials = await makeDemoStudy({
        ...{ path, seed, subjects, interruption: interruption.signal },
        onTrial({ subject, ensemble, percent }) {
          done += 1;
          output.note(`${done} of ${2 * subjects}: ${subject} in ${ensemble}, ${formatPercent(percent)} %`);
        },
      });
      if (values.json) {
        output.line(JSON.stringify({ program: programVersion, virtual: true, study: path, seed, trials }));
      } else {
        output.line('VIRTUAL RIG: no result of a real ensemble.');
        output.line(`${trials.length} trials of ${subjects} subjects in ${path}, seed ${seed}.`);
      }
      return 0;
    } finally {
      process.off('SIGINT', interrupt);
      process.off('SIGTERM', interrupt);
    }
  },
};
