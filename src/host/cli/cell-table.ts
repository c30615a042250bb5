import type { Assessment, Cell, CellMean } from '../../leakage/assessment.ts';
import { significant } from '../../model/number-text.ts';
import { formatPercent, formatTable, type Column } from './table.ts';

/**
 * The result as a table: exercises down, probes across in body order, each leakage followed by what casts doubt on
 * it. A value below its detection limit is written as such.
 */
export function formatAssessment(assessment: Assessment): string {
  const probes = assessment.probes.map((probe) => probe.probe);
  const exercises = assessment.exercises.map((exercise) => exercise.exercise);
  const columns: Column[] = [
    { heading: 'inward leakage, %', align: 'left' },
    ...probes.map((probe) => ({ heading: probe, align: 'right' as const })),
    { heading: 'mean', align: 'right' },
  ];
  const rows = assessment.exercises.map((exercise) => [
    exercise.exercise,
    ...probes.map((probe) =>
      formatCell(assessment.cells.find((cell) => cell.exercise === exercise.exercise && cell.probe === probe)),
    ),
    formatMean(exercise),
  ]);
  const means = [
    'mean',
    ...assessment.probes.map(formatMean),
    formatMean(assessment.overall),
  ];
  const factors = [
    'protection factor',
    ...assessment.probes.map(formatFactor),
    formatFactor(assessment.overall),
  ];
  const flagged = assessment.cells.filter((cell) => cell.flagged);
  const notes = flagged.map((cell) => `* ${cell.exercise}, ${cell.probe}: ${cell.flags.join(', ')}`);
  return [
    formatTable(columns, exercises.length === 0 ? [] : [...rows, means, factors]),
    '',
    'Leakage of the air seen in each window ± half of its 95 % interval; none where the trial does not show enough.',
    '< : below the detection limit. * : in doubt. How each came about: explain.',
    ...(assessment.overall.flagged || assessment.overall.cellsMissing > 0
      ? ['A mean is of the values that there are, and in doubt where one is, or is missing: lower without a high one.']
      : []),
    ...notes,
  ].join('\n');
}

function formatCell(cell: Cell | undefined): string {
  if (cell === undefined || cell.windowPercent === null) return cell?.flagged === true ? '– *' : '–';
  const mark = cell.flagged ? ' *' : '';
  const limit = cell.detectionLimitPercent;
  if (limit !== null && cell.windowPercent < limit) return `< ${formatPercent(limit)}${mark}`;
  return `${withHalf(cell.windowPercent, cell.windowExpandedPercent)}${mark}`;
}

/** Marked as a cell is, with how many of its values are missing: a mean without its highest value looks better. */
function formatMean({ cellsMissing, flagged, windowExpandedPercent, windowPercent }: CellMean): string {
  const number = windowPercent === null ? '–' : withHalf(windowPercent, windowExpandedPercent);
  return `${number}${cellsMissing > 0 ? ` (${cellsMissing} missing)` : ''}${flagged ? ' *' : ''}`;
}

function withHalf(percent: number, half: number | null): string {
  return half === null ? formatPercent(percent) : `${formatPercent(percent)} ±${significant(half, 2)}`;
}

function formatFactor({ flagged, protectionFactor: factor }: CellMean): string {
  if (factor === null) return '–';
  const magnitude = 10 ** Math.max(0, Math.floor(Math.log10(factor)) - 2);
  return `${Math.round(factor / magnitude) * magnitude}${flagged ? ' *' : ''}`;
}
