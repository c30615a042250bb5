import type { Identifier } from '../../model/identity.ts';
import { voidingWords } from '../../model/voiding.ts';
import { listAssessments } from './assessments.ts';
import type { TrialSummary } from './contract.ts';
import { listTrials, readTrialSummary } from './read.ts';

/** How far a trial of a study has come. */
export interface TrialState {
  readonly trial: Identifier;
  readonly state: 'not-sealed' | 'sealed-not-assessed' | 'assessed';
  readonly assessments: number;
  readonly summary: TrialSummary;
}

/** Every trial of a study, in the order in which they were begun, without touching raw data. Errors as `listTrials`. */
function trialStates(path: string): TrialState[] {
  const made = new Map<string, number>();
  for (const { trial } of listAssessments(path)) made.set(trial, (made.get(trial) ?? 0) + 1);
  return listTrials(path).map((summary) => stateOf(summary, made.get(summary.trial) ?? 0));
}

/** One trial, whatever the others are like. Errors as `readTrialSummary`. */
export function trialState(path: string, trial: string): TrialState {
  return stateOf(readTrialSummary(path, trial), listAssessments(path, trial).length);
}

function stateOf(summary: TrialSummary, assessments: number): TrialState {
  const { trial, sealed } = summary;
  const state = sealed === null ? 'not-sealed' : assessments === 0 ? 'sealed-not-assessed' : 'assessed';
  return { trial, state, assessments, summary };
}

/** One line for each trial: what became of it, and the command that brings it further. Errors as `listTrials`. */
export function describeTrials(path: string): string {
  const states = trialStates(path);
  const lines = states.map((entry) => {
    const { voided } = entry.summary;
    return `  ${entry.trial}  ${describe(path, entry)}${voided === null ? '' : `, ${voidingWords(voided)}`}`;
  });
  return states.length === 0 ? 'The study holds no trial.' : ['Trials of the study:', ...lines].join('\n');
}

function describe(path: string, { trial, state, assessments, summary }: TrialState): string {
  const command = (words: string): string => `npx --no-install chamberside ${words} --study ${path}`;
  switch (state) {
    case 'not-sealed': {
      const text = `not sealed, ${summary.phase ?? 'prepared'} when the recording ended`;
      return summary.header.rehearsal === undefined ? text : `${text}: ${command('rehearse --resume')}`;
    }
    case 'sealed-not-assessed':
      return `sealed, not assessed: ${command('assess')} --trial ${trial}`;
    case 'assessed':
      return `sealed, assessed${assessments > 1 ? ` ${assessments} times` : ''}`;
  }
}
