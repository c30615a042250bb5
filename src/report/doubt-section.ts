import type { Cell, CellMean } from '../leakage/assessment.ts';
import { budgetGapWords, budgetLineNames, budgetLineWords } from '../leakage/budget/line.ts';
import type { BudgetLineName } from '../leakage/budget/line.ts';
import { significant } from '../model/number-text.ts';
import { probePorts } from '../model/rig.ts';
import type { Port } from '../model/rig.ts';
import type { Block, Section, TableCell } from './document.ts';
import { plain } from './document.ts';
import { nbsp, percentFull } from './numbers.ts';
import type { ReportSource } from './source.ts';
import { reportWords } from './words.ts';

/** More means than this beside each other do not fit on a page: the table goes on in another one. */
const mostMeans = 6;

interface NamedMean {
  readonly name: string;
  readonly mean: CellMean;
}

/** Where the doubt about the means comes from, source by source. */
export function doubtSection(source: ReportSource): Section {
  const { details } = source.assessment;
  const means: NamedMean[] = [
    ...probePorts(source.record.rig).flatMap(({ label, probe }: Port): NamedMean[] => {
      const mean = details.probes.find((one) => one.probe === probe);
      return mean === undefined ? [] : [{ name: label, mean }];
    }),
    { name: 'All', mean: details.overall },
  ];
  const known = means.filter(({ mean }) => linesOf(mean).length > 0);
  const blocks: Block[] = [];
  if (known.length === 0) {
    // Assessments from before the budget have none.
    const gaps = new Set(details.cells.flatMap(({ budgetGaps = [] }: Partial<Cell>) => budgetGaps));
    blocks.push({
      block: 'paragraph',
      words: plain(['No interval could be computed.', ...[...gaps].map((gap) => budgetGapWords[gap])].join(' ')),
    });
  }
  for (let first = 0; first < known.length; first += mostMeans) {
    blocks.push(budgetTable(known.slice(first, first + mostMeans), first === 0));
  }
  const { slice } = details as Partial<typeof details>;
  if (slice != null) {
    const where =
      slice.from === 'successive exercises'
        ? 'successive exercises, which differ by themselves as well: an upper bound'
        : 'one exercise';
    blocks.push({
      block: 'paragraph',
      words: plain(
        `The whole exercise: a slice differs from it by ${significant(100 * slice.logStandard, 2)}${nbsp}% (standard ` +
          `deviation, from ${slice.pairs} pairs of dwells of ${where}). That is added to the doubt of the air seen.`,
      ),
    });
  }
  return { id: 'doubt', heading: 'Where the doubt comes from', blocks };
}

function linesOf({ budget = [] }: Partial<CellMean>): CellMean['budget'] {
  return budget;
}

function budgetTable(means: readonly NamedMean[], first: boolean): Block {
  const present = budgetLineNames.filter((line) => means.some(({ mean }) => shareOf(mean, line) !== null));
  const row = (text: string, cell: (mean: CellMean) => string): TableCell[] => [
    { words: plain(text) },
    ...means.map(({ mean }) => ({ words: plain(cell(mean)) })),
  ];
  return {
    block: 'table',
    caption: `Standard uncertainty of the means by source, percent of the mean${first ? '' : ' (goes on)'}`,
    columns: [
      { heading: 'Source', align: 'left', width: 4.2 },
      ...means.map(({ name }) => ({ heading: name, align: 'right' as const, width: 1.2 })),
    ],
    rows: present.map((line) => row(budgetLineWords[line], (mean) => shareText(shareOf(mean, line)))),
    totals: [
      row('All sources', ({ windowPercent, windowStandardPercent: all }) =>
        shareText(windowPercent === null || all === null ? null : share(all, windowPercent)),
      ),
      row('95 % interval of the air seen, percent of the challenge', (mean) =>
        intervalText(mean.windowLowPercent, mean.windowHighPercent),
      ),
      row('The same of the whole exercises', (mean) => intervalText(mean.exerciseLowPercent, mean.exerciseHighPercent)),
    ],
    notes: [
      plain(
        'Sources are independent: their squares add up. A mean counts each zero, reference, dilution and the ' +
          'spatial factor once, however many values share it. Intervals by Student’s factor with effective degrees ' +
          'of freedom (JCGM 100:2008, annex G).',
      ),
    ],
  };
}

function intervalText(low: number | null, high: number | null): string {
  if (low === null || high === null) return reportWords.noInterval;
  return `${percentFull(Math.max(0, low))} to ${percentFull(Math.max(0, high))}`;
}

function shareOf(mean: CellMean, line: BudgetLineName): number | null {
  const found = linesOf(mean).find((one) => one.line === line);
  return found === undefined || mean.windowPercent === null ? null : share(found.standardPercent, mean.windowPercent);
}

/** Percent of the mean; null where there is nothing to be a percent of. */
function share(standardPercent: number, windowPercent: number): number | null {
  return windowPercent === 0 ? null : (100 * standardPercent) / Math.abs(windowPercent);
}

function shareText(value: number | null): string {
  return value === null ? '–' : significant(value, 2);
}
