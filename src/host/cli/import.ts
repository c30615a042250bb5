import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import { readPackage } from '../data-package/read-package.ts';
import { takeIn } from '../data-package/take-in.ts';
import type { Command } from './command.ts';

export const importCommand: Command = {
  name: 'import',
  summary: 'take the trials of a data package into a study',
  options: [
    { name: 'package', value: 'FOLDER', help: 'folder that chamberside export has made', required: true },
    { name: 'study', value: 'FILE', help: 'study file; made when it does not exist', required: true },
  ],
  notes: [
    'Everything is checked before anything is written: digests, columns, every value. A trial keeps its identifier and',
    'gets a chain of its own; its header says in which study it was recorded, and with which head. The same method and',
    'program version assess it to the same numbers, to the last bit.',
    'Exit status 0: taken in and sealed.',
  ],
  async run(values, output) {
    const study = values.text('study');
    const trials = readPackage(values.text('package'));
    await takeIn({
      ...{ study, trials, at: new Date().toISOString() },
      studyName: existsSync(study) ? null : basename(study).replace(/\.chamberside$/, ''),
      onTrial(trial, number, all) {
        if (all > 1) output.note(`${number} of ${all}: ${trial}`);
      },
    });
    const taken = trials.map(({ record }) => record.header.trial);
    for (const { record, wasVoid } of trials) {
      if (!wasVoid) continue;
      const { trial } = record.header;
      const command = `npx --no-install chamberside void --study ${study} --trial ${trial}`;
      output.note(`${trial} WAS VOID where it was recorded, and is not void here until a reviewer says so: ${command}`);
    }
    const wasVoid = trials.filter((one) => one.wasVoid).map(({ record }) => record.header.trial);
    if (values.json) output.line(JSON.stringify({ study, trials: taken, wasVoid }));
    else {
      for (const trial of taken) output.line(`${trial} is in ${study}, sealed.`);
      output.note(`Assess it: npx --no-install chamberside assess --study ${study}`);
    }
    return 0;
  },
};
