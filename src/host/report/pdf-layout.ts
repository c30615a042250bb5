import type { Content, Margin, TableLayout } from './pdf-terms.ts';
import type { Block, Facts, Inline, Table, TableCell, Verdict, Words } from '../../report/document.ts';
import type { Figure, Shape } from '../../report/figure.ts';
import { escapeMarkup, figureSvg, ink, pageWidth } from '../../report/figure.ts';
import { verdictSvg } from '../../report/html.ts';
import { flagMark, probeMark } from '../../report/probe-look.ts';
import type { Typesetter } from './type.ts';
import { brokenAt, wideLetter, wireLetter } from './words-in-place.ts';

/** Points of a px of the document's page. */
export const pt = 0.75;
/** Width of the text of a page, points. */
export const textWidth = pageWidth * pt;

interface Look {
  readonly bold?: boolean;
  readonly color?: string;
  /** Size of identifiers and digests; that of the words around them when absent. */
  readonly wireSize?: number;
  /** Where it stands, points, so that a word which is wider can be broken; a whole line of size 10 if absent. */
  readonly place?: { readonly width: number; readonly size: number };
}

/** Sets the blocks of a document in pdfmake's terms. */
export function createLayout(type: Typesetter) {
  const inline = ({ text, strong, wire }: Inline, look: Look): Content[] => {
    const { width, size } = look.place ?? { width: textWidth, size: 10 };
    const letter = (wire === true ? wireLetter : wideLetter) * ((wire === true ? look.wireSize : undefined) ?? size);
    return type.runs(text, wire === true ? 'wire' : 'text').flatMap((run) =>
      brokenAt(run.text, Math.floor(width / letter)).map((part) => ({
        ...part,
        font: run.family,
        ...(strong === true || look.bold === true ? { bold: true } : {}),
        ...(look.color === undefined ? {} : { color: look.color }),
        ...(wire === true && look.wireSize !== undefined ? { fontSize: look.wireSize } : {}),
      })),
    );
  };
  const runs = (words: Words, look: Look = {}): Content[] => words.flatMap((part) => inline(part, look));
  const text = (value: string, look: Look = {}): Content[] => runs([{ text: value }], look);

  const svgOf = (figure: Figure): string =>
    figureSvg(figure, {
      family: 'Text',
      titled: false,
      content: (value) =>
        type
          .runs(value, 'text')
          .map((run) => `<tspan font-family="${run.family}">${escapeMarkup(run.text)}</tspan>`)
          .join(''),
    });
  const mark = (shape: Shape): Content => {
    const figure = { id: 'mark', width: 14, height: 14, title: '', description: '', shapes: [shape] };
    return { svg: svgOf(figure), width: 9, height: 9, font: 'Text', margin: [0, 1.2, 0, 0] };
  };

  const cell = (of: TableCell, align: 'left' | 'right', size: number, bold: boolean, width: number): Content => {
    const marks: Content[] = [
      ...(of.flagged === true ? [mark(flagMark(7, 7.5, 11))] : []),
      ...(of.probe === undefined ? [] : [mark(probeMark(of.probe, 7, 7, 13))]),
    ];
    const place = { width: width - 12 * marks.length, size };
    const words: Content = { text: runs(of.words, { bold, place }), alignment: align, fontSize: size };
    if (marks.length === 0) return words;
    return {
      columns: [...marks.map((one) => ({ ...one, width: 9 })), { ...words, width: '*' }],
      columnGap: 3,
    };
  };

  const block = (of: Block): Content => {
    switch (of.block) {
      case 'title':
        return {
          stack: [
            {
              text: runs(of.words, { bold: true, place: { width: textWidth, size: titleSize(of.words) } }),
              fontSize: titleSize(of.words),
              lineHeight: 1.05,
              margin: [0, 2, 0, 4],
            },
            { text: runs(of.below, { color: ink.ink2 }), fontSize: 10.5 },
          ],
        };
      case 'answer':
        return boxed([{ text: runs(of.words, answerLook), fontSize: 13.5, lineHeight: 1.18 }], {
          fill: ink.ink,
          padding: 14,
          margin: [0, 12, 0, 9],
        });
      case 'verdicts':
        return verdicts(of.verdicts);
      case 'heading':
        return { text: text(of.text, { bold: true }), fontSize: 12, margin: [0, 12, 0, 5], headlineLevel: 2 };
      case 'paragraph': {
        const quiet = of.quiet === true;
        return {
          text: runs(of.words, quiet ? { color: ink.ink2 } : {}),
          fontSize: quiet ? 9 : 10,
          margin: [0, 0, 0, 7],
        };
      }
      case 'list': {
        const size = of.care === true ? 9.2 : 10;
        const items = {
          ul: of.items.map((item) => ({ text: runs(item), margin: [0, 0, 0, 3] })),
          fontSize: size,
        };
        return of.care === true ? careBox(items) : { ...items, margin: [0, 0, 0, 8] };
      }
      case 'figure':
        return {
          stack: [
            { svg: svgOf(of.figure), width: textWidth, font: 'Text' },
            ...(of.caption === ''
              ? []
              : [{ text: text(of.caption, { color: ink.ink2 }), fontSize: 8.6, margin: [0, 4, 0, 0] }]),
          ],
          unbreakable: true,
          margin: [0, 0, 0, 8],
        };
      case 'pair': {
        const side = (blocks: readonly Block[], width: string | number): Content => ({
          stack: blocks.map((one) => (one.block === 'table' ? table(one, textWidth * 0.5 - 10, true) : block(one))),
          width,
        });
        const columns: Content = {
          columns: [side(of.left, textWidth * 0.5 - 10), side(of.right, '*')],
          columnGap: 20,
        };
        return columns;
      }
      case 'facts':
        return facts(of);
      case 'table':
        return table(of, textWidth, false);
    }
  };

  const verdicts = (of: readonly Verdict[]): Content => ({
    columns: of.map(({ mark: sign, title, more }): Content => ({
      table: {
        widths: ['*'],
        body: [
          [
            {
              columns: [
                { svg: verdictSvg(sign), width: 25, font: 'Text' },
                {
                  stack: [
                    { text: text(title, { bold: true }), fontSize: 11 },
                    { text: text(more, { color: ink.ink2 }), fontSize: 8.8, margin: [0, 1, 0, 0] },
                  ],
                  width: '*',
                },
              ],
              columnGap: 9,
            },
          ],
        ],
      },
      layout: frame(9, 8),
    })),
    columnGap: 9,
    margin: [0, 0, 0, 2],
  });

  const facts = ({ rows }: Facts): Content => ({
    table: {
      widths: [130, textWidth - 140],
      dontBreakRows: true,
      body: rows.map(({ name, value }) => [
        { text: text(name, { color: ink.ink2, place: { width: 130, size: 9.3 } }), fontSize: 9.3 },
        // A digest of 64 characters stands on one line.
        { text: runs(value, { wireSize: 8.6, place: { width: textWidth - 140, size: 10 } }), fontSize: 10 },
      ]),
    },
    layout: lines({ head: 0, total: rows.length, left: () => 0, gap: 10, last: 1, pad: 3.6 }),
    margin: [0, 0, 0, 8],
  });

  const table = (of: Table, width: number, bare: boolean): Content => {
    const { columns, rows, totals, groups = [] } = of;
    const dense = columns.length > 6;
    const size = dense ? 8.6 : 9.3;
    const share = columns.reduce((sum, column) => sum + column.width, 0);
    const last = columns.length - 1;
    const left = (index: number): number =>
      index > 0 && columns[index]?.align === 'left' && columns[index - 1]?.align === 'right' ? 8 : 0;
    const widths = columns.map(
      (column, index) => (column.width / share) * width - (index === last ? 0 : gap) - left(index),
    );
    const row = (cells: readonly TableCell[], bold: boolean): Content[] =>
      cells.map((one, index) =>
        cell(one, columns[index]?.align ?? 'left', size, bold || (index === 0 && !bare), widths[index] ?? width),
      );
    const head: Content[] = columns.map(({ heading, align }, index) => ({
      text: text(heading, { color: ink.ink2, place: { width: widths[index] ?? width, size } }),
      alignment: align,
      fontSize: size - 0.3,
    }));
    const pad = dense ? 2.6 : 3.2;
    const layout = (total: number, headRows: number): TableLayout =>
      lines({ head: headRows, total, left, gap, last, pad, sums: totals.length, bare: headRows - 1 });
    const body =
      groups.length === 0
        ? rows.map((one) => row(one, false))
        : groups.flatMap((group, index): Content[][] => {
            const own = rows.slice(group.from, groups[index + 1]?.from);
            const title: Content[] = spanning(
              { text: runs(group.heading, { bold: true }), fontSize: size + 0.4, margin: [0, 5, 0, 0] },
              columns.length,
            );
            const inner = own.map((one) => row(one, false));
            if (linesOf(own, widths, size) > mostLinesTogether) return [title, ...inner];
            // One row of the outer table, so that a heading never stands at the foot of a page without its rows.
            const together: Content = {
              table: { widths, dontBreakRows: true, body: [title, ...inner] },
              layout: lines({ head: 0, total: inner.length + 1, left, gap, last, pad: 2.6, bare: 1 }),
            };
            return [spanning({ ...together, grouped: true }, columns.length)];
          });
    // As a row of the head: it never stands at the foot of a page, and is said again where the table goes on.
    const caption: Content = { text: text(of.caption, { bold: true }), fontSize: 11.5, margin: [0, 7, 0, 2] };
    const heads = bare ? [head] : [spanning(caption, columns.length), head];
    const parts: Content[] = [
      {
        table: {
          widths,
          headerRows: heads.length,
          keepWithHeaderRows: 1,
          dontBreakRows: true,
          body: [...heads, ...body, ...totals.map((one) => row(one, true))],
        },
        layout:
          groups.length === 0
            ? layout(body.length + totals.length + heads.length, heads.length)
            : groupedLayout(left, last, heads.length),
        margin: [0, 0, 0, of.notes.length > 0 ? 4 : 8],
      },
      ...of.notes.map((note): Content => ({
        text: runs(note, { color: ink.ink2 }),
        fontSize: 8.6,
        margin: [0, 0, 0, 6],
      })),
    ];
    const stack: Content = { stack: parts };
    return stack;
  };

  /** One line of at most this width, points; what is longer ends in an ellipsis. */
  const oneLine = (words: Words, width: number, size: number, look: Look = {}): Content[] => {
    let left = width / size;
    const kept: Inline[] = [];
    for (const part of words) {
      const use = part.wire === true ? 'wire' : 'text';
      const letters = [...part.text];
      const wide = (count: number): number => type.width(letters.slice(0, count).join(''), use);
      const whole = wide(letters.length);
      if (whole <= left) {
        left -= whole;
        kept.push(part);
        continue;
      }
      let count = letters.length;
      while (count > 0 && wide(count) > left - ellipsisWidth) count -= 1;
      kept.push({ ...part, text: `${letters.slice(0, count).join('').trimEnd()}…` });
      break;
    }
    return runs(kept, look).map((run) => ({ ...run, noWrap: true }));
  };

  return { block, runs, text, oneLine, width: (value: string) => type.width(value, 'text') };
}

const answerLook = { color: '#ffffff', place: { width: textWidth - 32, size: 13.5 } };

const gap = 6;
/** Of an ellipsis, in sizes. */
const ellipsisWidth = 1;
/** A group of rows with more lines than this may be taller than a page, and is broken like any other rows. */
const mostLinesTogether = 45;

/** About how many lines some rows take, rather too many than too few. */
function linesOf(rows: readonly (readonly TableCell[])[], widths: readonly number[], size: number): number {
  const linesIn = ({ words }: TableCell, column: number): number => {
    const letters = words.reduce((sum, { text }) => sum + [...text].length, 0);
    return Math.ceil(letters / Math.max(1, (widths[column] ?? 1) / (size * 0.6)));
  };
  return rows.reduce((sum, cells) => sum + Math.max(1, ...cells.map(linesIn)), 0);
}

function spanning(content: Content, count: number): Content[] {
  const first = { ...content, colSpan: count };
  return [first, ...Array.from({ length: count - 1 }, (): Content => ({}))];
}

/** Type as large as a title that long can bear. */
function titleSize(words: Words): number {
  const length = words.reduce((sum, { text }) => sum + [...text].length, 0);
  return length <= 70 ? 22 : length <= 160 ? 15 : 11;
}

interface Lines {
  readonly head: number;
  /** Rows in all. */
  readonly total: number;
  readonly left: (column: number) => number;
  readonly gap: number;
  /** Index of the last column. */
  readonly last: number;
  readonly pad: number;
  /** Rows at the end that sum up. */
  readonly sums?: number;
  /** Rows at the beginning without a line below. */
  readonly bare?: number;
}

function lines({ head, total, left, gap: between, last, pad, sums = 0, bare = 0 }: Lines): TableLayout {
  const strong = (index: number): boolean => (head > 0 && index === head) || (sums > 0 && index === total - sums);
  return {
    hLineWidth: (index) => {
      if (index === 0 || index <= bare || (sums > 0 && index > total - sums)) return 0;
      return strong(index) ? 1 : 0.6;
    },
    hLineColor: (index) => (strong(index) ? ink.ink : ink.line),
    vLineWidth: () => 0,
    paddingLeft: left,
    paddingRight: (index) => (index === last ? 0 : between),
    paddingTop: () => pad,
    paddingBottom: () => pad,
  };
}

/** Around groups that are tables of their own. */
function groupedLayout(left: (column: number) => number, last: number, heads: number): TableLayout {
  return {
    hLineWidth: (index) => (index === heads ? 1 : 0),
    hLineColor: () => ink.ink,
    vLineWidth: () => 0,
    paddingLeft: left,
    paddingRight: (index) => (index === last ? 0 : gap),
    paddingTop: (index) => (index < heads ? 2.6 : 0),
    paddingBottom: (index) => (index < heads ? 2.6 : 0),
  };
}

function boxed(
  content: Content[],
  box: { readonly fill: string; readonly padding: number; readonly margin: Margin },
): Content {
  return {
    table: { widths: ['*'], body: [[{ stack: content, fillColor: box.fill }]] },
    layout: {
      hLineWidth: () => 0,
      vLineWidth: () => 0,
      paddingLeft: () => box.padding + 2,
      paddingRight: () => box.padding + 2,
      paddingTop: () => box.padding - 2,
      paddingBottom: () => box.padding - 2,
    },
    margin: box.margin,
  };
}

function careBox(content: Content): Content {
  return {
    table: { widths: ['*'], body: [[{ stack: [content], fillColor: ink.sunk }]] },
    layout: {
      hLineWidth: () => 0,
      vLineWidth: (index: number) => (index === 0 ? 4 : 0),
      vLineColor: () => ink.ink,
      paddingLeft: () => 8,
      paddingRight: () => 10,
      paddingTop: () => 7,
      paddingBottom: () => 5,
    },
    margin: [2, 0, 0, 0],
  };
}

function frame(horizontal: number, vertical: number): TableLayout {
  return {
    hLineWidth: () => 1.1,
    vLineWidth: () => 1.1,
    hLineColor: () => ink.ink,
    vLineColor: () => ink.ink,
    paddingLeft: () => horizontal,
    paddingRight: () => horizontal,
    paddingTop: () => vertical,
    paddingBottom: () => vertical,
  };
}
