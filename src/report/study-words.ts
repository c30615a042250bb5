import type { LimitShare } from '../study/limit-share.ts';
import type { Leakage } from '../study/lognormal.ts';
import type { PassingShare } from '../study/passing-share.ts';
import type { LeakageRatio } from '../study/ratio.ts';
import { type RosterRow, unreleasedWords } from '../study/study-trial.ts';
import { significant } from '../model/number-text.ts';
import type { TableCell, Verdict, Words } from './document.ts';
import { given, plain, words } from './document.ts';
import { counted, nbsp, percentFull, percentShort, plainNumber } from './numbers.ts';

/** `95 %` of a share from 0 to 1. */
export function shareText(share: number): string {
  return `${plainNumber(Number((100 * share).toFixed(1)))}${nbsp}%`;
}

export function times(value: number): string {
  return significant(value, 2);
}

/** What a person takes away of a ratio. Only what its interval shows is said. */
export function ratioWords(ratio: LeakageRatio, confidence: number): Words {
  const [upper, lower] = [given(ratio.upper), given(ratio.lower)];
  const sure = `(${times(ratio.low)} to ${times(ratio.high)}, ${shareText(confidence)} sure)`;
  if (ratio.low > 1) return words`${upper} leaks ${times(ratio.ratio)} times as much as ${lower} ${sure}.`;
  if (ratio.high < 1) {
    const back = `(${times(1 / ratio.high)} to ${times(1 / ratio.low)}, ${shareText(confidence)} sure)`;
    return words`${lower} leaks ${times(1 / ratio.ratio)} times as much as ${upper} ${back}.`;
  }
  return words`${upper} and ${lower} are not told apart: × ${times(ratio.ratio)} ${sure}.`;
}

/** Percent without its sign, below the limit as such. */
export function leakageText(leakage: Leakage | null): string {
  if (leakage === null) return '–';
  return leakage.below ? `<${nbsp}${percentFull(leakage.percent)}` : percentFull(leakage.percent);
}

export function probabilityText(value: number): string {
  return value < 0.001 ? `<${nbsp}0.001` : value.toFixed(3);
}

export function cellOf(text: string): TableCell {
  return { words: plain(text) };
}

/** What speaks against whatever rests on these trials, in words. */
export function doubtsOfRows(rows: readonly RosterRow[]): string[] {
  const many = (some: readonly RosterRow[]): string => `${some.length} of ${counted(rows.length, 'trial', 'trials')}`;
  const flagged = rows.filter(({ cellsFlagged }) => cellsFlagged > 0);
  const checked = rows.filter(({ doubtfulChecks }) => doubtfulChecks.length > 0);
  const cut = rows.filter(({ review }) => review !== null && review.leftOut > 0);
  const unreleased = unreleasedWords(rows);
  return [
    ...(rows.some(({ virtual }) => virtual) ? ['the virtual rig says nothing of a real ensemble'] : []),
    ...(flagged.length > 0 ? [`${many(flagged)} rest on flagged cells`] : []),
    ...(checked.length > 0 ? [`${many(checked)} rest on checks that were overdue or had failed`] : []),
    ...(cut.length > 0 ? [`of ${many(cut)} a reviewer left something out`] : []),
    ...(unreleased === null ? [] : [unreleased]),
  ];
}

/** ` In doubt: the first of them.` */
export function inDoubt([first]: readonly string[]): string {
  return first === undefined ? '' : ` In doubt: ${given(first).text}.`;
}

/**
 * How many subjects keep a limit of whole trials, and of how many wearers that holds.
 * @param doubts what speaks against the trials behind it: with any, nothing is ticked off.
 */
export function limitVerdict(share: LimitShare, confidence: number, doubts: readonly string[]): Verdict {
  const { ensemble, limitPercent, exceeding, open } = share;
  const title = `${given(ensemble).text}: ${keptText(share.share)} ≤${nbsp}${percentShort(limitPercent)}`;
  const untold = open === 0 ? '' : ` Of ${counted(open, 'subject', 'subjects')} it cannot be told.`;
  if (share.share === null) return { mark: 'none', title, more: `It can be told of no subject.${untold}` };
  const mark = exceeding.length > 0 ? 'doubt' : open > 0 ? 'none' : doubts.length > 0 ? 'doubt' : 'good';
  return { mark, title, more: `${ofWearers(share.share, confidence)}${untold}${inDoubt(doubts)}` };
}

export function keptText(share: PassingShare | null): string {
  return share === null ? 'none can be told' : `${share.passed} of ${counted(share.count, 'subject', 'subjects')}`;
}

function ofWearers({ passed, atLeast, high }: PassingShare, confidence: number): string {
  const sure = `${shareText(confidence)} sure`;
  return passed === 0
    ? `At most ${shareText(high)} of such wearers keep it, ${sure}.`
    : `At least ${shareText(atLeast)} of such wearers keep it, ${sure}.`;
}
