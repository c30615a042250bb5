/** A column of a printed table: its heading and how a cell stands in it. */
export interface Column {
  readonly heading: string;
  readonly align: 'left' | 'right';
}

/** Plain text table with two spaces between columns and a rule under the headings. Rows may be shorter. */
export function formatTable(columns: readonly Column[], rows: readonly (readonly string[])[]): string {
  const widths = columns.map((column, index) =>
    Math.max(column.heading.length, ...rows.map((row) => (row[index] ?? '').length)),
  );
  const line = (cells: readonly string[]): string =>
    columns
      .map((column, index) => {
        const text = cells[index] ?? '';
        const width = widths[index] ?? 0;
        return column.align === 'right' ? text.padStart(width) : text.padEnd(width);
      })
      .join('  ')
      .trimEnd();
  return [
    line(columns.map((column) => column.heading)),
    widths.map((width) => '─'.repeat(width)).join('  '),
    ...rows.map(line),
  ].join('\n');
}

/** A leakage in percent to three significant digits, without exponent; an en dash where there is none. */
export function formatPercent(value: number | null): string {
  if (value === null || !Number.isFinite(value)) return '–';
  const magnitude = Math.abs(value);
  if (magnitude === 0) return '0';
  const digits = Math.min(8, Math.max(0, 2 - Math.floor(Math.log10(magnitude))));
  return value.toFixed(digits);
}
