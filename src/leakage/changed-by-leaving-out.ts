import type { Cell } from './assessment.ts';
import type { AssessedCell } from './cell.ts';
import { doubt, figure, flagsOf } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { flagName } from './flag-words.ts';
import { castsDoubt } from './flag.ts';

/**
 * Whatever a stretch changes, on whichever way, is said: a cell whose value, interval of the air seen, detection limit
 * or flags are not those of the same trial with nothing left out is flagged `left-out`. No cell gets better in silence.
 * @param cells with stretches left out. @param whole the same cells in the same order with nothing left out.
 */
export function markChanged(cells: readonly AssessedCell[], whole: readonly AssessedCell[]): AssessedCell[] {
  return cells.map((cell, index) => {
    const before = whole[index];
    const added = before === undefined ? [] : doubtsOfChange(cell.shown, before.shown);
    if (added.length === 0) return cell;
    const doubts = [...cell.doubts, ...added];
    const flags = flagsOf(doubts);
    return { ...cell, doubts, shown: { ...cell.shown, flags, flagged: castsDoubt(flags) } };
  });
}

/** None where nothing changed; a cell that says already that readings are left out adds only which flags it lost. */
function doubtsOfChange(shown: Cell, before: Cell): Doubt[] {
  const lost = before.flags.filter((flag) => !shown.flags.includes(flag));
  if (lost.length > 0) {
    const names = lost.map(flagName).join(', ');
    return [doubt('left-out', null, `flags of the value that it has with nothing left out: ${names}`)];
  }
  if (shown.flags.includes('left-out')) return [];
  if (shown.windowPercent !== before.windowPercent) {
    const was = before.windowPercent;
    return was === null
      ? [doubt('left-out', null, 'with nothing left out there is no value')]
      : [doubt('left-out', null, 'the value with nothing left out', figure(was, null, 'percent'))];
  }
  if (shown.flags.length > before.flags.length) {
    return [doubt('left-out', null, 'with nothing left out the value has fewer flags')];
  }
  return compared.some((field) => shown[field] !== before[field])
    ? [doubt('left-out', null, 'with nothing left out the interval or the detection limit is another')]
    : [];
}

const compared = [
  'windowStandardPercent',
  'windowExpandedPercent',
  'windowLowPercent',
  'windowHighPercent',
  'degreesOfFreedom',
  'detectionLimitPercent',
] as const satisfies readonly (keyof Cell)[];
