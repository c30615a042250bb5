import { ChambersideError } from '../../model/error-code.ts';
import { bootstrapRatios } from '../../study/bootstrap-study.ts';
import { type RequirementStanding, requirementStandings } from '../../study/requirement-standing.ts';
import { summariseStudy, usualQuestions } from '../../study/study-summary.ts';
import { isHeldAgainstLimits } from '../../study/study-trial.ts';
import { type WhatIf, whatIfDifference } from '../../study/what-if.ts';
import { programVersion } from '../version.ts';
import { requirementFile, requirementNamed } from './chosen-requirement.ts';
import type { Command } from './command.ts';
import { formatBootstrap, formatStudy } from './compare-text.ts';
import { askedWhatIf, formatWhatIf, rowsAsked, whatIfOptions } from './compare-what-if.ts';
import { noteAltered } from './note-altered.ts';
import { noteExit } from './note-doubt.ts';

const shareRange = { least: 0.501, most: 0.9999 };

export const compareCommand: Command = {
  name: 'compare',
  summary: 'compare the ensembles of a study over its trials, with intervals',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'requirement', value: 'NAME', help: 'one of those that ship (see `judge`): verdict and share that passes' },
    { name: 'file', value: 'FILE', help: 'a requirement of your own instead, as JSON' },
    {
      name: 'limit',
      value: 'PERCENT',
      help: 'leakage of a whole trial whose passing share is asked, 0.0001 to 100; beside those of the plans',
    },
    { name: 'confidence', value: 'X', help: 'of every interval, 0.501 to 0.9999, default 0.95' },
    { name: 'coverage', value: 'X', help: 'of the tolerance limit: share of wearers, 0.501 to 0.9999, default 0.8' },
    { name: 'tolerance-confidence', value: 'X', help: 'of the tolerance limit, 0.501 to 0.9999, default 0.9' },
    {
      name: 'bootstrap',
      value: 'SEED',
      help: 'intervals of the ratios by drawing subjects again, beside those by t; 0 to 2147483647',
    },
    ...whatIfOptions,
  ],
  notes: [
    'Every sealed trial counts by its released assessment, else its newest; subjects are the unit of every interval.',
    'Trials of the virtual rig are left out where there are real ones. docs/guides/study.md says what each figure is.',
    'With --without or --by-method the study as it stands is printed beside the what-if, with the difference.',
    'Exit status 0: at least one trial is in the figures. 1: none is, or a trial is not what was recorded.',
  ],
  run(values, output) {
    const study = values.text('study');
    const [name, file] = [values.optional('requirement'), values.optional('file')];
    if (name !== undefined && file !== undefined) {
      const todo = 'See: npx --no-install chamberside compare --help';
      throw new ChambersideError('usage-unknown-option', '--requirement and --file exclude each other', '--file', todo);
    }
    const requirement = name !== undefined ? requirementNamed(name) : file !== undefined ? requirementFile(file) : null;
    const questions = {
      confidence: values.number('confidence', { ...shareRange, otherwise: usualQuestions.confidence }),
      coverage: values.number('coverage', { ...shareRange, otherwise: usualQuestions.coverage }),
      toleranceConfidence: values.number('tolerance-confidence', {
        ...shareRange,
        otherwise: usualQuestions.toleranceConfidence,
      }),
      limitsPercent: values.has('limit')
        ? [values.number('limit', { least: 0.0001, most: 100, otherwise: 1 })]
        : [],
    };
    const { standing: rows, otherwise: rowsOtherwise } = rowsAsked(study, values);
    const summary = summariseStudy(rows.trials, questions);
    const standingsOf = (trials: typeof rows.trials, roster: typeof summary.roster): RequirementStanding[] =>
      requirement === null ? [] : requirementStandings(requirement, trials, roster, questions.confidence);
    const standings = standingsOf(rows.trials, summary.roster);
    const asked = askedWhatIf(values, rows, summary);
    if (asked !== null && values.has('bootstrap')) {
      const what = '--bootstrap is of the study as it stands, and excludes --without and --by-method';
      throw new ChambersideError('usage-unknown-option', what, '--bootstrap', 'Ask for one after the other.');
    }
    const otherwise = asked === null ? null : whatIfOf(asked);
    const altered = summary.roster
      .filter((row) => isHeldAgainstLimits(row) && !noteAltered(study, row.trial, output))
      .map(({ trial }) => trial);
    const seed = values.has('bootstrap')
      ? values.wholeNumber('bootstrap', { least: 0, most: 2_147_483_647, otherwise: 1 })
      : null;
    const bootstrap = seed === null ? [] : bootstrapRatios(summary, seed);
    if (values.json) {
      const { study: identity, probes } = rows;
      const held = requirement === null ? null : { requirement, standings };
      const whatIf = otherwise === null ? {} : { whatIf: otherwise.json };
      const all = { program: programVersion, study: identity, probes, ...summary, asked: held, altered, ...whatIf };
      if (seed !== null) Object.assign(all, { bootstrap });
      output.line(JSON.stringify(all));
    } else if (otherwise !== null) {
      output.line(otherwise.text);
    } else {
      output.line(formatStudy(rows, summary, requirement, standings));
      if (bootstrap.length > 0) output.line(formatBootstrap(rows, bootstrap, questions.confidence));
    }
    const counted = otherwise?.counted ?? summary.counts.counted;
    noteExit(
      [
        counted === 0 ? 'no trial of the study has a value' : null,
        altered.length === 0 ? null : `not what was recorded: ${altered.join(', ')}`,
      ],
      output,
    );
    return Promise.resolve(counted > 0 && altered.length === 0 ? 0 : 1);

    function whatIfOf(whatIf: WhatIf): { readonly text: string; readonly json: unknown; readonly counted: number } {
      const { trials } = rowsOtherwise;
      const there = summariseStudy(trials, questions, new Set(whatIf.without), summary);
      const side = { summary: there, standings: standingsOf(trials, there.roster) };
      return {
        text: formatWhatIf(rows, whatIf, { summary, standings }, side),
        json: { ...whatIf, ...there, standings: side.standings, difference: whatIfDifference(summary, there) },
        counted: there.counts.counted,
      };
    }
  },
};
