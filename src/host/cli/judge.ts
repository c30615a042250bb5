import { castsDoubt, flagSchema } from '../../leakage/flag.ts';
import type { Review } from '../../leakage/review.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { doubtfulSupports } from '../../model/doubtful-supports.ts';
import { voidingWords } from '../../model/voiding.ts';
import { type EnsembleValues, judge, type Verdict } from '../../study/judge.ts';
import { publishedRequirements } from '../../study/published-requirements.ts';
import { type Requirement, sourceDoubt } from '../../study/requirement.ts';
import { reviewWords } from '../../study/study-trial.ts';
import { countingAssessment } from '../store/assessments.ts';
import { readStudyOverview } from '../store/read.ts';
import { programVersion } from '../version.ts';
import { requirementFile, requirementNamed } from './chosen-requirement.ts';
import type { Command } from './command.ts';
import { noteAltered } from './note-altered.ts';

export const judgeCommand: Command = {
  name: 'judge',
  summary: 'hold the assessed trials of a study against a requirement',
  options: [
    { name: 'study', value: 'FILE', help: 'study file; without it the requirements that ship are listed' },
    { name: 'requirement', value: 'NAME', help: 'one of those that ship' },
    { name: 'file', value: 'FILE', help: 'a requirement of your own instead, as JSON' },
  ],
  notes: [
    'Every sealed trial counts as one ensemble, by its released assessment, else its newest; where a reviewer had it',
    'made, that is said. Nothing is scaled: with another number of ensembles or values than asked for there is no',
    'verdict.',
    'Exit status 0: passed. 1: failed, or not evaluated.',
  ],
  run(values, output) {
    const study = values.optional('study');
    if (study === undefined) {
      if (values.json) output.line(JSON.stringify(publishedRequirements));
      else for (const requirement of publishedRequirements) output.line(listed(requirement));
      return Promise.resolve(0);
    }
    const requirement = chosenRequirement(values.optional('requirement'), values.optional('file'));
    const ensembles: EnsembleValues[] = [];
    const counted: { trial: string; assessment: string; review: Review | null }[] = [];
    const voids: { trial: string; person: string; reason: string }[] = [];
    const { releases, trials } = readStudyOverview(study);
    for (const { trial, sealed, header, voided } of trials) {
      if (sealed === null) {
        output.note(`${trial} is not sealed, and no result: it is left out.`);
        continue;
      }
      if (voided !== null) {
        const { person, reason } = voided;
        voids.push({ trial, person, reason });
        output.note(`${trial} is ${voidingWords(voided)}. It is left out.`);
        continue;
      }
      const assessment = countingAssessment(study, trial);
      if (assessment === null) {
        throw new ChambersideError(
          'record-insufficient',
          `${trial} has not been assessed`,
          study,
          `Assess it: npx --no-install chamberside assess --study ${study} --trial ${trial}`,
        );
      }
      if (!noteAltered(study, trial, output)) {
        const what = `${trial} is not what was recorded`;
        throw new ChambersideError('record-insufficient', what, study, 'Verify the study.');
      }
      const cells = assessment.cells.map(({ exercise, probe, windowPercent, flags }) => ({
        exercise,
        probe,
        percent: windowPercent,
        flagged: flags.some(isDoubt),
      }));
      const { review = null } = assessment;
      const chosen = review === null ? null : { person: review.person, leftOut: review.leftOut.length };
      if (review !== null && chosen !== null) {
        output.note(`${trial} counts as ${reviewWords(chosen)}: ${review.reason}`);
      }
      counted.push({ trial, assessment: assessment.assessment, review });
      const checks = doubtfulSupports(header);
      const releasedBy = releases.get(trial)?.person ?? null;
      const about = { name: trial, virtual: header.virtual, review: chosen, releasedBy, doubtfulChecks: checks };
      ensembles.push({ ...about, values: cells });
    }
    const verdict = judge(requirement, ensembles);
    if (values.json) {
      const about = { program: programVersion, ensembles: ensembles.length, assessments: counted, void: voids };
      output.line(JSON.stringify({ ...about, ...verdict, requirement }));
    } else {
      output.line(formatVerdict(requirement, ensembles.length, voids.length, verdict));
    }
    return Promise.resolve(verdict.verdict === 'passed' ? 0 : 1);
  },
};

/** A flag that this version does not know is a doubt as well. */
function isDoubt(flag: string): boolean {
  const known = flagSchema.safeParse(flag);
  return !known.success || castsDoubt([known.data]);
}

function listed(requirement: Requirement): string {
  const doubt = sourceDoubt(requirement);
  return `${requirement.name}  ${requirement.title} (${requirement.edition}${doubt === null ? '' : `; ${doubt}`})`;
}

function chosenRequirement(name: string | undefined, file: string | undefined): Requirement {
  if ((name === undefined) === (file === undefined)) {
    throw new ChambersideError(
      'usage-unknown-option',
      'one of --requirement and --file is needed',
      'chamberside judge',
      'See the names: npx --no-install chamberside judge',
    );
  }
  return file === undefined ? requirementNamed(name ?? '') : requirementFile(file);
}

export const verdictWords = { passed: 'PASSED', failed: 'FAILED', 'not-evaluated': 'NOT EVALUATED' } as const;

function formatVerdict(requirement: Requirement, ensembles: number, voids: number, verdict: Verdict): string {
  return [
    `${requirement.title}`,
    `${requirement.edition}; source: ${requirement.source}`,
    `${ensembles} ensembles${voids === 0 ? '' : `; ${voids === 1 ? '1 trial' : `${voids} trials`} void, left out`}`,
    ...verdict.rules.map((rule) => {
      const hasClass = rule.rule.rule === 'classes' && rule.verdict !== 'not-evaluated';
      const ofClass = hasClass ? `class ${rule.class ?? 'none'}; ` : '';
      return `  ${verdictWords[rule.verdict]}: ${ofClass}${rule.because}`;
    }),
    [verdictWords[verdict.verdict], ...verdict.doubts].join(' – '),
  ].join('\n');
}
