import type { TrialInput } from './machine-seam.ts';
import { advance, endDwell } from './dwells.ts';
import { changePhase, record } from './work.ts';
import type { Work } from './work.ts';

/** Between two judgements of the challenge, µs. */
export const judgingMicroseconds = 1_000_000;

/** The challenge is due to be judged: asks for it, or gives up when the last question was not answered. */
export function askForJudgement(work: Work): void {
  const { state } = work;
  const entry = state.dwell?.entry;
  if (state.dwell === null || entry === null || entry === undefined) return;
  if (entry.final) {
    settleChallenge(work, { steady: false, rangePercent: null, meanReading: null });
    return;
  }
  entry.final = state.nowMicroseconds >= state.dwell.deadlineMicroseconds;
  entry.asked = true;
  const again = state.nowMicroseconds + judgingMicroseconds;
  entry.judgeAtMicroseconds = entry.final ? again : Math.min(again, state.dwell.deadlineMicroseconds);
  work.effects.push({ effect: 'judge-challenge' });
}

/** An answer that was not asked for, or comes too late to matter, is ignored. */
export function judge(work: Work, input: Extract<TrialInput, { input: 'challenge-judged' }>): void {
  const { dwell, phase } = work.state;
  if (phase !== 'running' || dwell?.entry?.asked !== true) return;
  dwell.entry.asked = false;
  if (input.steady || dwell.entry.final) settleChallenge(work, input);
}

/** The judgement that decides: on with the series, or held with the valve left on the reference to be watched. */
function settleChallenge(
  work: Work,
  judgement: { readonly steady: boolean; readonly rangePercent: number | null; readonly meanReading: number | null },
): void {
  const { state } = work;
  const { steady, rangePercent, meanReading } = judgement;
  record(work, { kind: 'challenge-judged', atMicroseconds: state.nowMicroseconds, steady, rangePercent, meanReading });
  if (steady) {
    advance(work, state.nowMicroseconds);
    return;
  }
  endDwell(work, true, 'the longest time of entry was over');
  state.held = 'challenge-unsteady';
  changePhase(work, 'held', 'the challenge did not become steady in the time allowed');
}
