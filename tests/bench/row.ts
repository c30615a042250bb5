import { z } from 'zod';

const positive = z.number().positive();
const pair = z.tuple([positive, positive]);

/** One stage as it was measured: medians over the rounds of one run, in `unit`, and quartiles. */
export const rowSchema = z.object({
  stage: z.string().min(1),
  floor: positive,
  product: positive,
  /** product / floor. */
  ratio: positive,
  target: positive,
  met: z.boolean(),
  unit: z.string(),
  rounds: z.number().int().positive(),
  floorQuartiles: pair,
  productQuartiles: pair,
  /** Of the ratios of single rounds. */
  ratioQuartiles: pair,
});
export type Row = z.infer<typeof rowSchema>;

/** A run as `--json` prints it: an array, one row a line. */
export function runText(rows: readonly Row[]): string {
  return `[\n${rows.map((row) => `  ${JSON.stringify(row)}`).join(',\n')}\n]`;
}

/**
 * A run from a file. Lines before the array, which npm prints when it is not told to be silent, are passed over.
 * @throws Error that says what is wrong with it.
 */
export function parseRun(text: string, path: string): Row[] {
  const noRun = (why: string, cause?: unknown): Error =>
    new Error(`${path} is no run: ${why}. Make one with npm run bench -- --out FILE.`, { cause });
  const begins = text.search(/^\[/m);
  let content: unknown;
  try {
    content = JSON.parse(begins < 0 ? text : text.slice(begins));
  } catch (error) {
    throw noRun((error as Error).message, error);
  }
  const rows = z.array(rowSchema).min(1).safeParse(content);
  if (rows.success) return rows.data;
  const [issue] = rows.error.issues;
  throw noRun(`${issue?.path.join('.') ?? ''}: ${issue?.message ?? ''}`);
}

/** Columns under each other; the first to the left, the rest to the right. */
export function tableOf(head: readonly string[], lines: readonly (readonly string[])[]): string {
  const widths = head.map((word, column) =>
    Math.max(word.length, ...lines.map((cells) => (cells[column] ?? '').length)),
  );
  const put = (cells: readonly string[]): string =>
    cells
      .map((cell, column) => (column === 0 ? cell.padEnd(widths[0] ?? 0) : cell.padStart(widths[column] ?? 0)))
      .join('  ')
      .trimEnd();
  return [head, ...lines].map(put).join('\n');
}

/** A run for people. */
export function runTable(rows: readonly Row[]): string {
  const range = ([low, high]: readonly [number, number]): string => `${low}–${high}`;
  const lines = rows.map((row) => [
    ...[row.stage, String(row.floor), String(row.product), String(row.ratio), range(row.ratioQuartiles)],
    ...[`≤ ${row.target}`, row.met ? 'met' : 'MISSED', row.unit, String(row.rounds)],
  ]);
  return tableOf(['stage', 'floor', 'product', 'ratio', 'quartiles', 'target', '', 'unit', 'rounds'], lines);
}
