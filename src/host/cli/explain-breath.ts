import { toFigures } from '../../leakage/explain-digits.ts';
import type { ExplainedBreathing, ExplainedPart } from '../../leakage/explanation.ts';
import { rows } from './explain-steps.ts';
import type { Row } from './explain-steps.ts';

/** In the breathing zone, what of a background is subtracted; no lines elsewhere. @param reading writes a reading. */
export function backgroundBreathText(
  { background, breathing }: ExplainedPart,
  reading: (value: number) => string,
  unit: string,
): string[] {
  if (background?.breathing === undefined || breathing === undefined) return [];
  const taken = (background.netReading * background.breathing.factor) / breathing.factor;
  return rows([
    breathRow('b of the background, (in + out) ÷ in', background.breathing),
    breathRow('b of the window', breathing),
    ['B taken = B × the first ÷ the second', reading(taken), unit],
  ]);
}

/** A factor of breath with the times that it comes from. */
export function breathRow(what: string, { expiredSeconds, factor, inspiredSeconds }: ExplainedBreathing): Row {
  const times = `in ${toFigures(inspiredSeconds, 8)} s, out ${toFigures(expiredSeconds, 8)} s, at the probe`;
  return [what, toFigures(factor, 10), '', times];
}
