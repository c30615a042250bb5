import { ChambersideError } from '../model/error-code.ts';

/** A quantity and the range in which a formula holds for it, ends included. */
export interface Range {
  readonly name: string;
  readonly unit: string;
  readonly lowest: number;
  readonly highest: number;
}

/**
 * Refuses a value outside a range.
 * @param formula what was asked, for the message. @param remedy what else can be done.
 * @throws ChambersideError `outside-validity`, also for a value that is no number.
 */
export function requireWithin(value: number, range: Range, formula: string, remedy: string): void {
  if (value >= range.lowest && value <= range.highest) return;
  const unit = range.unit === '' ? '' : ` ${range.unit}`;
  throw new ChambersideError(
    'outside-validity',
    `${range.name} is ${value}${unit}; ${formula} holds from ${range.lowest} to ${range.highest}${unit}`,
    formula,
    remedy,
  );
}

/**
 * Refuses what is not so.
 * @throws ChambersideError `outside-validity`.
 */
export function requireThat(holds: boolean, what: string, formula: string, remedy: string): asserts holds {
  if (!holds) throw new ChambersideError('outside-validity', what, formula, remedy);
}
