import { budgetGapWords, budgetLineWords } from '../../leakage/budget/line.ts';
import { inputSource } from '../../leakage/certificate-words.ts';
import { toFigures } from '../../leakage/explain-digits.ts';
import type { Explanation } from '../../leakage/explanation.ts';
import { rows } from './explain-steps.ts';
import type { Row } from './explain-steps.ts';

/** Every line of the budget with the inputs behind it, what they come to, and both intervals. */
export function budgetText(explanation: Explanation): string[] {
  const { budget, budgetGaps, detectionLimitPercent, wholeExercise, windowPercent } = explanation;
  if (windowPercent === null) return [];
  const title = '9 Doubt: how far the truth of the air seen may lie from the value, standard uncertainty by source';
  if (budget === null) {
    const why = budgetGaps.map((gap) => budgetGapWords[gap]);
    return ['', '9 Doubt: no interval.', ...why.map((line) => `  ${line}`)];
  }
  const percent = (value: number): string => toFigures(value, 4);
  const freedom = (degrees: number | null): string =>
    degrees === null ? '' : `${toFigures(degrees, 4)} degrees of freedom`;
  const signed = (value: number): string => (value < 0 ? `−${percent(-value)}` : percent(value));
  const notes = (...all: readonly string[]): string => all.filter((note) => note !== '').join('; ');
  return [
    '',
    title,
    ...rows(
      budget.lines.flatMap(({ degreesOfFreedom, inputs, line, standardPercent }): Row[] => [
        [budgetLineWords[line], percent(standardPercent), '%', freedom(degreesOfFreedom)],
        ...inputs.map(({ input, sensitivity, standardUncertainty }): Row => [
          `  ${input}`,
          percent(Math.abs(sensitivity) * standardUncertainty),
          '%',
          notes(
            `u ${percent(standardUncertainty)} × ${signed(sensitivity)} % for one unit of it`,
            inputSource(explanation, input) ?? '',
          ),
        ]),
      ]),
    ),
    ...rows([
      ['u = root of the sum of their squares', percent(budget.standardPercent), '%', freedom(budget.degreesOfFreedom)],
      ['× Student factor of 95 %', toFigures(budget.coverageFactor, 6)],
      ['= half of the interval', percent(budget.expandedPercent), '%'],
      [
        'the air seen: from',
        signed(budget.lowPercent),
        '%',
        notes(
          budget.lowPercent < 0 ? 'shown as 0 elsewhere, because no leakage is below it' : '',
          detectionLimitPercent === null ? '' : `detection limit ${percent(detectionLimitPercent)} %`,
        ),
      ],
      ['to', signed(budget.highPercent), '%'],
    ]),
    ...drawnText(explanation, signed),
    ...wholeText(wholeExercise, signed),
  ];
}

function drawnText({ drawn }: Explanation, signed: (value: number) => string): string[] {
  if (drawn === null) return [];
  const { agrees, boundPercent, differencePercent, draws, highPercent, lowPercent, seed } = drawn;
  const verdict = agrees ? 'which they do' : 'WHICH THEY DO NOT: take the wider one';
  return [
    `  The same by drawing every input ${draws} times (seed ${seed}):`,
    ...rows([
      ['from', signed(lowPercent), '%'],
      ['to', signed(highPercent), '%'],
      [
        'its width against the stated one',
        signed(differencePercent),
        '%',
        `may differ by ${boundPercent} %, ${verdict}`,
      ],
    ]),
  ];
}

function wholeText(whole: Explanation['wholeExercise'], signed: (value: number) => string): string[] {
  if (whole === null) {
    return ['', '10 The whole exercise: no interval, because the trial does not show how much slices of it differ.'];
  }
  const source =
    whole.from === 'successive exercises'
      ? 'of successive exercises: an upper bound, because exercises differ as well'
      : 'of one exercise';
  return [
    '',
    '10 The whole exercise, of which the photometer saw slices only',
    ...rows([
      [
        's, scatter of ln(slice ÷ whole)',
        toFigures(whole.logStandard, 4),
        '',
        `${whole.pairs} pairs of dwells ${source}; ${toFigures(whole.degreesOfFreedom, 4)} degrees of freedom`,
      ],
      ['dwells of this value', String(whole.dwells), '', 's ÷ √ of that goes with u ÷ value'],
      ['the whole exercise: from', signed(whole.lowPercent), '%'],
      ['to', signed(whole.highPercent), '%'],
    ]),
  ];
}
