import type { Cell } from '../../leakage/assessment.ts';
import { flagName } from '../../leakage/flag-words.ts';
import type { Output } from './command.ts';

/** Cells that are named in a line before the rest is only counted. */
const mostNamed = 5;

type NamedCell = Pick<Cell, 'exercise' | 'probe' | 'flags'>;

/** `march ankle (gap in the readings), crawl hood (no zero)`: each cell with what is said against it. */
export function cellsNamed(cells: readonly NamedCell[]): string {
  const named = cells.slice(0, mostNamed).map(({ exercise, probe, flags }) => {
    const doubts = flags.map(flagName).join(', ');
    return doubts === '' ? `${exercise} ${probe}` : `${exercise} ${probe} (${doubts})`;
  });
  const rest = cells.length - named.length;
  return `${named.join(', ')}${rest === 0 ? '' : ` and ${rest} more`}`;
}

/** What is to be said of cells without a value; null when every cell has one. */
export function missingCells(cells: readonly (NamedCell & Pick<Cell, 'windowPercent'>)[]): string | null {
  if (cells.length === 0) return 'there is no cell';
  const missing = cells.filter(({ windowPercent }) => windowPercent === null);
  if (missing.length === 0) return null;
  return `${missing.length} of ${cells.length} cells have no value: ${cellsNamed(missing)}`;
}

/** One line that says why a command that ran to its end exits with 1; none where nothing speaks against it. */
export function noteExit(reasons: readonly (string | null)[], output: Output): void {
  const said = reasons.filter((reason) => reason !== null);
  if (said.length > 0) output.note(`Exit status 1: ${said.join('; ')}.`);
}
