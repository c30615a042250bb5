import { budgetGapWords, budgetLineWords } from '../../src/leakage/budget/line.ts';
import { certificateDoubtInWords, certificateStanding, inputSource } from '../../src/leakage/certificate-words.ts';
import { toFigures } from '../../src/leakage/explain-digits.ts';
import type { Explanation } from '../../src/leakage/explanation.ts';
import { certificateName } from '../../src/model/certificate.ts';
import { explainWords as words } from '../words/explain.ts';
import type { StepBlock, StepRow } from './explain-rows.ts';

const figures = 4;

/** The doubt of a cell: each source, their sum, and the two intervals; empty where there is no value. */
export function budgetBlocks(explanation: Explanation): StepBlock[] {
  const { budget, budgetGaps, windowPercent } = explanation;
  if (windowPercent === null) return [];
  if (budget === null) {
    const rows = budgetGaps.map((gap): StepRow => ({ what: budgetGapWords[gap], number: words.none }));
    return [{ title: words.budgetTitle, rows }];
  }
  const size = Math.abs(windowPercent);
  const share = (value: number): string | undefined =>
    size > 0 ? words.ofValue(toFigures((100 * value) / size, 2)) : undefined;
  const noted = (...notes: readonly (string | undefined)[]): { readonly note?: string } => {
    const all = notes.filter((note) => note !== undefined);
    return all.length === 0 ? {} : { note: all.join(', ') };
  };
  const freedom = (degrees: number | null): string | undefined =>
    degrees === null ? undefined : words.freedom(toFigures(degrees, 3));
  const rows: StepRow[] = [
    ...budget.lines.map(
      ({ degreesOfFreedom, inputs, line, standardPercent }): StepRow => ({
        what: budgetLineWords[line],
        number: toFigures(standardPercent, figures),
        unit: '%',
        ...noted(
          ...[share(standardPercent), freedom(degreesOfFreedom)],
          ...inputs.map(({ input }) => inputSource(explanation, input)),
        ),
      }),
    ),
    {
      what: words.rootOfSquares,
      operator: '=',
      number: toFigures(budget.standardPercent, figures),
      unit: '%',
      ...noted(share(budget.standardPercent), freedom(budget.degreesOfFreedom)),
    },
    { what: words.studentFactor, operator: '×', number: toFigures(budget.coverageFactor, 5) },
    { what: words.halfInterval, operator: '=', number: toFigures(budget.expandedPercent, figures), unit: '%' },
    { what: words.airSeenFrom, number: signed(budget.lowPercent), unit: '%' },
    { what: words.intervalTo, number: signed(budget.highPercent), unit: '%' },
    ...drawnRows(explanation),
  ];
  return [{ title: words.budgetTitle, rows }, { title: words.wholeTitle, rows: wholeRows(explanation) }];
}

/** Every certificate that the trial rests on, as it stood when the trial was prepared; empty where it is none. */
export function certificateBlocks({ certificates }: Explanation): StepBlock[] {
  if (certificates === undefined) return [];
  const rows = certificates.map((one): StepRow => {
    const { certificate, input } = one;
    const stood = certificateStanding(one);
    if (certificate === null) return { what: certificateName(one), number: words.none, note: stood };
    const use = input === null ? words.notComputedWith : words.gives(input);
    const note = `${stood}; ${certificateDoubtInWords(certificate)}; ${use}`;
    const unit = certificate.unit === '1' ? {} : { unit: certificate.unit };
    return { what: certificateName(one), number: String(certificate.value), ...unit, note };
  });
  return [{ title: words.certificatesTitle, rows }];
}

function drawnRows({ drawn }: Explanation): StepRow[] {
  if (drawn === null) return [];
  const { agrees, boundPercent, differencePercent, draws, highPercent, lowPercent } = drawn;
  const note = agrees ? words.drawnAgrees(boundPercent) : words.drawnDiffers(boundPercent);
  return [
    { what: words.drawnFrom, number: signed(lowPercent), unit: '%', note: words.drawnHow(draws) },
    { what: words.intervalTo, number: signed(highPercent), unit: '%' },
    { what: words.drawnAgainst, number: toFigures(differencePercent, 2).replace('-', '−'), unit: '%', note },
  ];
}

function wholeRows({ wholeExercise: whole }: Explanation): StepRow[] {
  if (whole === null) return [{ what: words.noWhole, number: words.none }];
  return [
    {
      what: words.sliceScatter,
      number: toFigures(100 * whole.logStandard, 3),
      unit: '%',
      note: words.slicePairs(whole.pairs, whole.from),
    },
    { what: words.dwellsOfValue, number: String(whole.dwells) },
    { what: words.wholeFrom, number: signed(whole.lowPercent), unit: '%' },
    { what: words.intervalTo, number: signed(whole.highPercent), unit: '%' },
  ];
}

function signed(value: number): string {
  return toFigures(value, figures).replace('-', '−');
}
