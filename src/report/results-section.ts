import type { Assessment, Cell, CellMean } from '../leakage/assessment.ts';
import { flagName } from '../leakage/flag-words.ts';
import type { Flag } from '../leakage/flag.ts';
import { flagMeanings, orderFlags } from '../leakage/flag.ts';
import type { Exercise } from '../model/series.ts';
import type { Port } from '../model/rig.ts';
import { probePorts } from '../model/rig.ts';
import type { Block, Section, Table, TableCell, Words } from './document.ts';
import { given, plain, words } from './document.ts';
import { shownValue } from './first-page.ts';
import { counted, factorText, nbsp, percentFull } from './numbers.ts';
import type { ReportSource } from './source.ts';
import { reportWords } from './words.ts';

/** More probes than this beside each other do not fit on a page: the table goes on in another one. */
const mostProbes = 7;

/** Every value with both intervals and flags, and the means. */
export function resultsSection(source: ReportSource): Section {
  const { details } = source.assessment;
  const { exercises } = source.record.series;
  const probes = probePorts(source.record.rig);
  const blocks: Block[] = [];
  if (details.cells.length === 0) {
    blocks.push({ block: 'paragraph', words: plain('The assessment holds no values.') });
  } else {
    for (let first = 0; first < probes.length; first += mostProbes) {
      const last = first + mostProbes >= probes.length;
      const part = probes.slice(first, first + mostProbes);
      const which = part.length === probes.length ? '' : `, probes ${first + 1} to ${first + part.length}`;
      blocks.push(overview(details, exercises, part, which, last));
    }
    blocks.push(everyValue(details, exercises, probes), ...flagsInWords(details));
  }
  return { id: 'results', heading: 'Results', blocks };
}

function cellAt(details: Assessment, exercise: string, probe: string): Cell | undefined {
  return details.cells.find((cell) => cell.exercise === exercise && cell.probe === probe);
}

function valueCell(cell: Cell | undefined): TableCell {
  if (cell === undefined) return { words: plain('–') };
  return { words: shownValue(cell), flagged: cell.flagged };
}

function meanCell(mean: CellMean | undefined): TableCell {
  if (mean?.windowPercent == null) return { words: plain('–') };
  return { words: plain(percentFull(mean.windowPercent)), flagged: mean.flagged };
}

function factorCell(mean: CellMean | undefined): TableCell {
  if (mean?.protectionFactor == null) return { words: plain('–') };
  return { words: plain(factorText(mean.protectionFactor)), flagged: mean.flagged };
}

/** Exercises down, probes across in body order. */
function overview(
  details: Assessment,
  exercises: readonly Exercise[],
  probes: readonly Port[],
  which: string,
  last: boolean,
): Table {
  const means = probes.map(({ probe }) => details.probes.find((one) => one.probe === probe));
  return {
    block: 'table',
    caption: `Inward leakage of the air seen, percent of the challenge${which}`,
    columns: [
      { heading: 'Exercise', align: 'left', width: 2.4 },
      ...probes.map(({ label }) => ({ heading: label, align: 'right' as const, width: 1.25 })),
      ...(last ? [{ heading: 'Mean', align: 'right' as const, width: 1.1 }] : []),
    ],
    rows: exercises.map(({ exercise, name }, index) => [
      { words: [{ text: `${index + 1}.${nbsp}` }, given(name)] },
      ...probes.map(({ probe }) => valueCell(cellAt(details, exercise, probe))),
      ...(last ? [meanCell(details.exercises.find((one) => one.exercise === exercise))] : []),
    ]),
    totals: [
      [{ words: plain('Mean') }, ...means.map(meanCell), ...(last ? [meanCell(details.overall)] : [])],
      [{ words: plain('Protection factor') }, ...means.map(factorCell), ...(last ? [factorCell(details.overall)] : [])],
    ],
    notes: [
      plain(
        'Means are plain means of the values that there are, those in doubt included. The protection factor is 100 ' +
          'divided by the mean; it describes this test, not a workplace. <: below the detection limit. Triangle: ' +
          'in doubt.',
      ),
      ...doubtfulFactors(means, probes, last ? details.overall : undefined),
    ],
  };
}

/** A mark alone explains nothing: which protection factors rest on values that are in doubt. */
function doubtfulFactors(
  means: readonly (CellMean | undefined)[],
  probes: readonly Port[],
  overall: CellMean | undefined,
): Words[] {
  const doubtful = (mean: CellMean | undefined): boolean => mean?.flagged === true && mean.protectionFactor !== null;
  const of: Words[] = [
    ...probes.filter((_, index) => doubtful(means[index])).map(({ label }): Words => [given(label)]),
    ...(doubtful(overall) ? [plain('the mean of all')] : []),
  ];
  if (of.length === 0) return [];
  const names = of.flatMap((name, index): Words => (index === 0 ? name : [...plain(', '), ...name]));
  return [words`In doubt, because values in its mean are: protection factor of ${names}.`];
}

/** No leakage is below zero: an interval is cut there for the eye. */
function intervalOf({ windowPercent }: Cell, low: number | null, high: number | null): string {
  if (windowPercent === null) return '–';
  if (low === null || high === null) return reportWords.noInterval;
  return `${percentFull(Math.max(0, low))} to ${percentFull(Math.max(0, high))}`;
}

/** The value; below the limit the signed number with it. */
function signedValue(cell: Cell): Words {
  const shown = shownValue(cell);
  if (cell.windowPercent === null || !cell.flags.includes('below-detection-limit')) return shown;
  return [...shown, { text: ` (${percentFull(cell.windowPercent)})` }];
}

function everyValue(details: Assessment, exercises: readonly Exercise[], probes: readonly Port[]): Table {
  const groups: { from: number; heading: Words }[] = [];
  const rows: TableCell[][] = [];
  exercises.forEach(({ exercise, name }, index) => {
    const own = probes.flatMap(({ probe, label }): TableCell[][] => {
      const cell = cellAt(details, exercise, probe);
      if (cell === undefined) return [];
      const limit = cell.detectionLimitPercent;
      return [
        [
          { words: [given(label)], probe },
          { words: signedValue(cell), flagged: cell.flagged },
          { words: plain(intervalOf(cell, cell.windowLowPercent, cell.windowHighPercent)) },
          { words: plain(intervalOf(cell, cell.exerciseLowPercent, cell.exerciseHighPercent)) },
          { words: plain(limit === null ? '–' : percentFull(limit)) },
          { words: plain(String(cell.readings)) },
          { words: plain(cell.flags.length === 0 ? 'none' : cell.flags.map(flagName).join(', ')) },
        ],
      ];
    });
    if (own.length === 0) return;
    groups.push({ from: rows.length, heading: [{ text: `${index + 1}.${nbsp}` }, given(name)] });
    rows.push(...own);
  });
  return {
    block: 'table',
    caption: 'Every value with both intervals, percent of the challenge',
    columns: [
      { heading: 'Probe', align: 'left', width: 1.8 },
      { heading: 'Air seen', align: 'right', width: 1.5 },
      { heading: 'Its 95 % interval', align: 'left', width: 2.6 },
      { heading: 'Whole exercise, 95 % interval', align: 'left', width: 2.6 },
      { heading: 'Detection limit', align: 'right', width: 1.5 },
      { heading: 'Readings', align: 'right', width: 1.3 },
      { heading: 'Flags', align: 'left', width: 2.5 },
    ],
    rows,
    groups,
    totals: [],
    notes: [
      plain(
        'Air seen: the mean of the window, over which the photometer looked at this probe; its interval is the ' +
          'doubt of the measurement. Whole exercise: the interval that holds the rest of the exercise as well, which ' +
          'nobody saw. Both are to hold the truth 95 times of 100 and are cut at zero. In brackets: the signed ' +
          'number where the value is below its detection limit.',
      ),
    ],
  };
}

/** Each flag that occurs, with what it means and how often it occurs: a name alone explains nothing. */
function flagsInWords(details: Assessment): Block[] {
  const present = orderFlags([...details.flags, ...details.cells.flatMap((cell) => cell.flags)]);
  if (present.length === 0) return [{ block: 'paragraph', words: plain('No value carries a flag.') }];
  const count = (flag: Flag): number => details.cells.filter((cell) => cell.flags.includes(flag)).length;
  return [
    {
      block: 'table',
      caption: 'What the flags mean',
      columns: [
        { heading: 'Flag', align: 'left', width: 2 },
        { heading: 'Meaning', align: 'left', width: 6 },
        { heading: 'Where', align: 'left', width: 1.4 },
      ],
      rows: present.map((flag) => [
        { words: plain(flagName(flag)) },
        { words: plain(flagMeanings[flag]) },
        { words: plain(count(flag) === 0 ? 'whole trial' : counted(count(flag), 'value', 'values')) },
      ]),
      totals: [],
      notes: [],
    },
  ];
}
