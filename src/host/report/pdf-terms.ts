/** Terms of pdfmake's document definitions, as far as a report is set in them. */

/** A node of the document. One of its members tells what it is: `text`, `stack`, `columns`, `table`, `svg`. */
export type Content = Readonly<Record<string, unknown>>;

/** Left, top, right, bottom; points. */
export type Margin = readonly [number, number, number, number];

/** How a table is drawn. Indices count lines or cells from 0; lengths are points. */
export interface TableLayout {
  readonly hLineWidth: (line: number) => number;
  readonly vLineWidth: (line: number) => number;
  readonly hLineColor?: (line: number) => string;
  readonly vLineColor?: (line: number) => string;
  readonly paddingLeft: (column: number) => number;
  readonly paddingRight: (column: number) => number;
  readonly paddingTop: (row: number) => number;
  readonly paddingBottom: (row: number) => number;
}

/** What is asked whether a page ends before a node. */
export interface PlacedNode {
  readonly headlineLevel?: number;
  readonly pageNumbers: readonly number[];
  /** Points from the top of its page. */
  readonly startPosition: { readonly top: number };
}
