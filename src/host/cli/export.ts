import { ChambersideError } from '../../model/error-code.ts';
import { writePackage } from '../data-package/write-package.ts';
import { listTrials } from '../store/read.ts';
import { programVersion } from '../version.ts';
import type { Command } from './command.ts';
import { noteAltered } from './note-altered.ts';

export const exportCommand: Command = {
  name: 'export',
  summary: 'write sealed trials as a data package that other programs read',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'only this trial; all that are sealed when absent' },
    { name: 'out', value: 'FOLDER', help: 'folder that is made, or an empty one', required: true },
  ],
  notes: [
    'A Tabular Data Package: datapackage.json with a schema and units for every table; readings, wire bytes and events',
    'as recorded, the configuration as frozen, and the assessment that counts. `chamberside import` takes it in again.',
    'Exit status 0: written. 1: written, and a trial in it is not what was recorded.',
  ],
  run(values, output) {
    const study = values.text('study');
    const chosen = values.optional('trial');
    const all = listTrials(study);
    const wanted = chosen === undefined ? all : all.filter(({ trial }) => trial === chosen);
    if (chosen !== undefined && wanted.length === 0) {
      const there = all.map(({ trial }) => trial).join(', ') || 'none';
      throw new ChambersideError('trial-not-found', 'The study holds no such trial', chosen, `There are: ${there}.`);
    }
    const trials = wanted.filter(({ sealed }) => sealed !== null);
    const unsealed = wanted.filter(({ sealed }) => sealed === null);
    if (trials.length === 0) {
      const remedy = 'Close the trial first: what is not sealed can still change.';
      throw new ChambersideError('trial-not-finished', 'There is no sealed trial to export', study, remedy);
    }
    for (const { trial } of unsealed) output.note(`${trial} is not sealed and can still change: it is left out.`);
    const altered: string[] = [];
    const written = writePackage({
      ...{ study, trials, folder: values.text('out'), program: programVersion, createdAt: new Date().toISOString() },
      isIntact(trial) {
        const intact = noteAltered(study, trial, output);
        if (!intact) altered.push(trial);
        return intact;
      },
      onTrial(trial, number, count) {
        if (count > 1) output.note(`${number} of ${count}: ${trial}`);
      },
    });
    if (values.json) {
      const left = unsealed.map(({ trial }) => trial);
      output.line(JSON.stringify({ ...written, trials: trials.map(({ trial }) => trial), leftOut: left, altered }));
    } else {
      const count = trials.length === 1 ? '1 trial' : `${trials.length} trials`;
      output.line(`${count} in ${written.files} files, ${written.bytes} bytes: ${written.folder}`);
      if (trials.some(({ header }) => header.virtual)) output.line('VIRTUAL RIG: no result of a real ensemble.');
    }
    return Promise.resolve(altered.length === 0 ? 0 : 1);
  },
};
