import type { RigVersion } from '../../bridge/contract.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { RigChange } from '../../model/rig-difference.ts';
import { differenceOfVersions } from '../compute/rig-versions-job.ts';
import { openLaboratory } from '../store/laboratory.ts';
import type { Laboratory } from '../store/laboratory.ts';
import type { Command, ExitCode, OptionValues, Output } from './command.ts';
import { formatTable } from './table.ts';

const words = ['list', 'versions', 'diff'] as const;
type Word = (typeof words)[number];

/** Options that mean something for each word, beside the laboratory. */
const belong: Readonly<Record<Word, readonly string[]>> = {
  list: [],
  versions: ['name'],
  diff: ['name', 'from', 'to'],
};

export const rigCommand: Command = {
  name: 'rig',
  summary: 'list the rigs of a laboratory, their versions, and what changed between two of them',
  operand: { name: 'what to do', words, help: 'diff says field by field what changed' },
  options: [
    { name: 'laboratory', value: 'FILE', help: 'laboratory file', required: true },
    { name: 'name', value: 'NAME', help: 'versions, diff: name of the rig' },
    { name: 'from', value: 'N', help: 'diff: the earlier version; default the one before --to' },
    { name: 'to', value: 'N', help: 'diff: the later version; default the newest' },
  ],
  notes: [
    'Exit status 0: done, whether anything differs or not. 1: refused, and it says why. 2: wrong usage.',
    'The digest of a version stands with every trial that was recorded on it.',
  ],
  run(values, output) {
    const word = values.operand() as Word;
    for (const name of ['name', 'from', 'to']) {
      if (!values.has(name) || belong[word].includes(name)) continue;
      const what = `rig ${word} takes no --${name}`;
      throw new ChambersideError('usage-unknown-option', what, `--${name}`, 'Leave it out.');
    }
    const laboratory = openLaboratory(values.text('laboratory'));
    try {
      return Promise.resolve(perform(word, laboratory, values, output));
    } finally {
      laboratory.close();
    }
  },
};

function perform(word: Word, laboratory: Laboratory, values: OptionValues, output: Output): ExitCode {
  if (word === 'list') {
    const rigs = laboratory.list('rig').map(({ createdAt, name, version }) => ({ name, version, createdAt }));
    output.line(values.json ? JSON.stringify({ rigs }) : listText(rigs));
    return 0;
  }
  const name = values.text('name');
  const versions = laboratory.versions('rig', name);
  const [newest] = versions;
  if (newest === undefined) {
    const what = `the laboratory has no rig ${name}`;
    throw new ChambersideError('configuration-invalid', what, 'laboratory', 'List them with: rig list.');
  }
  if (word === 'versions') {
    output.line(values.json ? JSON.stringify({ name, versions }) : versionsText(versions));
    return 0;
  }
  const whole = { least: 1, most: 1e9 };
  const to = values.wholeNumber('to', { ...whole, otherwise: newest.version });
  const before = versions.find(({ version }) => version < to)?.version;
  if (before === undefined && !values.has('from')) {
    const what = `there is no version before ${to}`;
    throw new ChambersideError('usage-bad-value', what, `rig ${name}`, 'Name two with --from and --to.');
  }
  const from = values.wholeNumber('from', { ...whole, otherwise: before ?? to });
  const changes = differenceOfVersions(laboratory, { name, from, to });
  output.line(values.json ? JSON.stringify({ name, from, to, changes }) : changesText(name, from, to, changes));
  return 0;
}

const left = (heading: string) => ({ heading, align: 'left' as const });

function listText(rigs: readonly { readonly name: string; readonly version: number; readonly createdAt: string }[]) {
  if (rigs.length === 0) return 'The laboratory keeps no rig.';
  const columns = [left('rig'), { heading: 'newest version', align: 'right' as const }, left('kept on')];
  return formatTable(columns, rigs.map(({ createdAt, name, version }) => [name, String(version), createdAt]));
}

function versionsText(versions: readonly RigVersion[]): string {
  const columns = [{ heading: 'version', align: 'right' as const }, left('kept on')];
  return formatTable(columns, versions.map(({ createdAt, version }) => [String(version), createdAt]));
}

function changesText(name: string, from: number, to: number, changes: readonly RigChange[]): string {
  const title = `${name}, version ${from} → ${to}`;
  if (changes.length === 0) return `${title}: nothing differs.`;
  const rows = changes.map(({ after, before, part, what }) => [part, what, before ?? '–', after ?? '–']);
  return `${title}\n${formatTable([left('of'), left('what'), left('before'), left('after')], rows)}`;
}
