import { existsSync, writeFileSync } from 'node:fs';
import { z } from 'zod';
import { methodForRig, usableOptions } from '../../leakage/method-for-rig.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import { seriesEntrySchema } from '../../model/series-entry.ts';
import { parseSeries, sameSeries, versionToKeep } from '../../series/own-series.ts';
import type { SeriesTemplate } from '../../series/templates.ts';
import { offeredTemplates, refuseTemplateName, templateRig } from '../rig/offers.ts';
import { openLaboratory } from '../store/laboratory.ts';
import type { Laboratory } from '../store/laboratory.ts';
import type { Command, ExitCode, OptionValues, Output } from './command.ts';
import { readGivenJson } from './given-json.ts';
import { seriesListText, seriesText } from './series-text.ts';

const words = ['list', 'show', 'export', 'import', 'schema'] as const;
type Word = (typeof words)[number];

/** Options that mean something for each word. */
const belong: Readonly<Record<Word, readonly string[]>> = {
  list: ['laboratory'],
  show: ['laboratory', 'name', 'version', 'file', 'rig'],
  export: ['laboratory', 'name', 'version', 'out'],
  import: ['laboratory', 'file'],
  schema: ['out'],
};

export const seriesCommand: Command = {
  name: 'series',
  summary: 'list, show, export and import series: the program’s, and those that a laboratory keeps',
  operand: { name: 'what to do', words, help: 'schema prints the JSON Schema of the file' },
  options: [
    { name: 'laboratory', value: 'FILE', help: 'laboratory file; without it only the series of the program' },
    { name: 'name', value: 'NAME', help: 'show, export: name of the series' },
    { name: 'version', value: 'N', help: 'show, export: a version from 1; default the newest' },
    { name: 'file', value: 'FILE', help: 'import, show: a series as JSON (docs/formats/series.md)' },
    { name: 'rig', value: 'NAME', help: 'show: rig of the laboratory to time it on; default the eight-way template' },
    { name: 'out', value: 'FILE', help: 'export, schema: a file that is not there yet; default the standard output' },
  ],
  notes: [
    'import never overwrites: a series keeps its version where that is above every version of its name, and takes the',
    'next one otherwise; one that is there already changes nothing. Series of the program cannot be replaced.',
    'show --file checks a file without keeping it. Exit status 0: done. 1: refused, and it says why.',
  ],
  run(values, output) {
    const word = values.operand() as Word;
    for (const name of ['laboratory', 'name', 'version', 'file', 'rig', 'out']) {
      if (!values.has(name) || belong[word].includes(name)) continue;
      const what = `series ${word} takes no --${name}`;
      throw new ChambersideError('usage-unknown-option', what, `--${name}`, 'Leave it out.');
    }
    return Promise.resolve(perform(word, values, output));
  },
};

function perform(word: Word, values: OptionValues, output: Output): ExitCode {
  switch (word) {
    case 'list':
      return withLaboratory(values, (laboratory) => list(laboratory, values.json, output));
    case 'show':
      return withLaboratory(values, (laboratory) => show(laboratory, values, output));
    case 'export':
      return withLaboratory(values, (laboratory) => {
        const { series } = found(laboratory, values);
        const { name, version } = series;
        return give(`${JSON.stringify(series, null, 2)}\n`, { name, version }, values, output);
      });
    case 'import':
      return take(values, output);
    case 'schema':
      return give(`${JSON.stringify(seriesJsonSchema(), null, 2)}\n`, { schema: 'series' }, values, output);
  }
}

/** The JSON Schema (draft-07) of a series file, as `docs/formats/series.schema.json` has it. */
export function seriesJsonSchema(): unknown {
  return { ...z.toJSONSchema(seriesEntrySchema, { io: 'input', target: 'draft-7' }), title: 'A series of Chamberside' };
}

function withLaboratory(values: OptionValues, work: (laboratory: Laboratory | null) => ExitCode): ExitCode {
  const path = values.optional('laboratory');
  if (path === undefined) return work(null);
  const laboratory = openLaboratory(path);
  try {
    return work(laboratory);
  } finally {
    laboratory.close();
  }
}

function list(laboratory: Laboratory | null, json: boolean, output: Output): ExitCode {
  const rows = [
    ...offeredTemplates().map(({ mark, series }) => ({ series, mark })),
    ...(laboratory?.list('series') ?? []).map(({ content }) => ({ series: content, mark: null })),
  ];
  if (json) {
    const shown = rows.map(({ mark, series: { exercises, name, source, version } }) => ({
      ...{ name, version, source, mark, exercises: exercises.length },
    }));
    output.line(JSON.stringify({ series: shown }));
  } else for (const line of seriesListText(rows)) output.line(line);
  return 0;
}

function show(laboratory: Laboratory | null, values: OptionValues, output: Output): ExitCode {
  const file = values.optional('file');
  if (file !== undefined && values.has('name')) {
    throw new ChambersideError('usage-unknown-option', '--file and --name are two series', '--file', 'Give one.');
  }
  const chosen = file === undefined ? found(laboratory, values) : { series: readSeries(file), mark: null };
  const rig = rigOf(laboratory, values.optional('rig'));
  if (values.json) output.line(JSON.stringify({ mark: chosen.mark, series: chosen.series }));
  else for (const line of seriesText(chosen, rig, usableOptions(methodForRig(rig)))) output.line(line);
  return 0;
}

function take(values: OptionValues, output: Output): ExitCode {
  const series = readSeries(values.text('file'));
  refuseTemplateName(series.name);
  const laboratory = openLaboratory(values.text('laboratory'));
  try {
    const latest = laboratory.get('series', series.name);
    const sameVersion = laboratory.get('series', series.name, series.version);
    const { isThere, version } = versionToKeep(series, latest?.content ?? null, sameVersion?.content ?? null);
    const there = version === latest?.version ? latest : sameVersion;
    const kept = isThere && there !== null ? there : laboratory.put('series', { ...series, version });
    if (values.json) {
      output.line(JSON.stringify({ name: kept.name, version: kept.version, digest: kept.digest, changed: !isThere }));
    } else {
      output.line(`${isThere ? 'There already' : 'Kept'}: ${kept.name}, version ${kept.version}.`);
    }
    return 0;
  } finally {
    laboratory.close();
  }
}

function readSeries(file: string): Series {
  return parseSeries(readGivenJson(file, 'series'), file);
}

/** @throws ChambersideError `configuration-invalid` where there is no such series. */
function found(
  laboratory: Laboratory | null,
  values: OptionValues,
): { readonly series: Series; readonly mark: SeriesTemplate['mark'] | null } {
  const name = values.text('name');
  const range = { least: 1, most: 1e9, otherwise: 1 };
  const wanted = values.has('version') ? values.wholeNumber('version', range) : undefined;
  const template = offeredTemplates().find(({ series }) => series.name === name);
  if (template !== undefined && (wanted === undefined || wanted === template.series.version)) {
    const other = laboratory?.get('series', name, template.series.version)?.content ?? template.series;
    if (sameSeries(other, template.series)) return template;
    const what = 'The laboratory keeps something else under the name and version of a series of the program';
    const remedy = 'Open the laboratory’s on the series screen, where both stand, and save it under a name of its own.';
    throw new ChambersideError('configuration-invalid', what, name, remedy);
  }
  const kept = laboratory?.get('series', name, wanted) ?? null;
  if (kept !== null) return { series: kept.content, mark: null };
  const what = wanted === undefined ? 'There is no such series' : `There is no version ${wanted} of it`;
  const remedy = laboratory === null ? 'Name its laboratory by --laboratory, or list them.' : 'List them: series list.';
  throw new ChambersideError('configuration-invalid', what, name, remedy);
}

function rigOf(laboratory: Laboratory | null, name: string | undefined): Rig {
  if (name === undefined) return templateRig();
  const kept = laboratory?.get('rig', name) ?? null;
  if (kept !== null) return kept.content;
  const what = 'The laboratory has no such rig';
  throw new ChambersideError('configuration-invalid', what, `--rig ${name}`, 'Check the name.');
}

function give(text: string, what: object, values: OptionValues, output: Output): ExitCode {
  const out = values.optional('out');
  if (out === undefined) {
    output.line(text.trimEnd());
    return 0;
  }
  if (existsSync(out)) {
    throw new ChambersideError('file-exists', 'The file exists already', out, 'Choose another name.');
  }
  writeFileSync(out, text, { flag: 'wx' });
  output.line(values.json ? JSON.stringify({ ...what, file: out }) : `Written to ${out}.`);
  return 0;
}
