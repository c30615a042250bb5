/**
 * A list that people go through at the rig: items in an order, one standing answer each. The list of before the start
 * and that of after the trial are two of them; how answers follow from events, and which can be taken, is the same.
 */

/** An item of a list. */
export interface ListRule<Item extends string> {
  readonly item: Item;
  readonly title: string;
  /** What is looked at; common practice, no source. Local rules and the responsible person come first. */
  readonly detail: string;
  /** Cannot be passed over, whatever the reason. */
  readonly must: boolean;
}

/** What a record says of an item: an answer, or that the one before it no longer stands. */
interface Said<Item extends string, Answer> {
  readonly item: Item;
  readonly answer: Answer | 'withdrawn';
  /** Codes: who says so, and for some items who has seen it too. */
  readonly persons: readonly string[];
  readonly note: string;
}

/** @returns the answers after one more; the given map is left as it was. */
export function followList<Item extends string, Given>(
  answers: ReadonlyMap<Item, Given>,
  item: Item,
  given: Given | null,
): ReadonlyMap<Item, Given> {
  const next = new Map(answers);
  if (given === null) next.delete(item);
  else next.set(item, given);
  return next;
}

/** What holds back whatever waits for the list. */
export function openLines<Line extends { readonly answer: unknown }>(lines: readonly Line[]): Line[] {
  return lines.filter(({ answer }) => answer === null);
}

/** Why an answer cannot be taken, and what to do. */
export type AnswerRefusal = readonly [what: string, remedy: string];

/** @param passing what passing over would mean, for an item that cannot be. @returns the line, or why there is none. */
export function lineFor<Item extends string, Line extends ListRule<Item> & { readonly answer: unknown }>(
  wanted: Said<Item, string>,
  lines: readonly Line[],
  passing: string,
): { readonly line: Line } | { readonly refused: AnswerRefusal } {
  const line = lines.find(({ item }) => item === wanted.item);
  const no = (what: string, remedy: string): { readonly refused: AnswerRefusal } => ({ refused: [what, remedy] });
  if (line === undefined) return no(`the list has no item ${wanted.item}`, 'Choose one of the list.');
  const { title } = line;
  if (wanted.answer === 'withdrawn' && line.answer === null) {
    return no(`${title}: nothing has been answered`, 'There is nothing to take back.');
  }
  if (wanted.answer !== 'passed-over') return { line };
  if (line.must) return no(`${title} cannot be passed over`, passing);
  return wanted.note.trim() === ''
    ? no(`${title} is passed over without a reason`, 'Say why; it is stored with the trial.')
    : { line };
}
