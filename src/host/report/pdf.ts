import type { ReportDocument } from '../../report/document.ts';
import { ink } from '../../report/figure.ts';
import { pdfFontFiles } from './fonts.ts';
import type { Content, PlacedNode } from './pdf-terms.ts';
import { createLayout, textWidth } from './pdf-layout.ts';
import { createTypesetter } from './type.ts';

const side = 48;
const top = 62;
const bottom = 62;
const pageHeight = 841.89;
/** What the number of the page and the digest take at the foot, with the gap before them. */
const numberWidth = 116;
/** Room for a heading and what makes sense below it, points: with less it goes to the next page. */
const leastBelow = 110;

/**
 * The document as a PDF of A4 pages, with its type inside. The same document gives the same bytes: its time is that of
 * what it shows, its identifier is made from that, and nothing in it is compressed, because libraries compress the same
 * bytes into other ones.
 * @param documentDigest hexadecimal, printed at the foot
 */
export async function reportPdf(document: ReportDocument, documentDigest: string): Promise<Uint8Array<ArrayBuffer>> {
  // Here and not before: whoever starts the program would wait for it.
  const { default: pdfmake } = await import('pdfmake');
  const type = await createTypesetter();
  const layout = createLayout(type);
  const { block, text } = layout;
  const content = document.sections.flatMap(({ heading, joined, blocks }, index): Content[] => [
    ...(heading === null
      ? []
      : [
          {
            text: text(heading, { bold: true }),
            fontSize: 17,
            margin: [0, joined === true ? 18 : 0, 0, 7],
            headlineLevel: 1,
            outline: true,
            ...(joined === true ? {} : { pageBreak: 'before' }),
          },
        ]),
    ...endingAt(blocks.map(block), document.sections[index + 1]?.joined !== true),
  ]);
  if (type.replaced)
    content.splice(1, 0, { text: text(replacedWords, { color: ink.ink2 }), fontSize: 8.6, margin: [0, 4, 0, 0] });
  const files = pdfFontFiles();
  const definition = {
    content,
    pageSize: 'A4',
    pageMargins: [side, top, side, bottom],
    defaultStyle: { font: 'Text', fontSize: 10, lineHeight: 1.12, color: ink.ink, fontFeatures: ['tnum'] },
    header: (page: number) => header(document, page, layout),
    footer: (page: number, pages: number) => footer(document, documentDigest, page, pages, layout),
    // Headings of tables go with their rows by themselves.
    pageBreakBefore: ({ headlineLevel, startPosition, pageNumbers }: PlacedNode) =>
      headlineLevel !== undefined && pageNumbers.length === 1 && startPosition.top > pageHeight - bottom - leastBelow,
    info: {
      title: document.title,
      subject: document.about,
      author: document.maker,
      creator: document.maker,
      producer: document.maker,
      creationDate: new Date(document.dated),
      modDate: new Date(document.dated),
    },
    language: document.language,
    displayTitle: true,
    version: '1.7',
    compress: false,
  };
  const allowed = new Set(files.flatMap(({ normal, bold }) => [normal, bold]));
  pdfmake.setUrlAccessPolicy(() => false);
  pdfmake.setLocalAccessPolicy((path) => allowed.has(path));
  pdfmake.setFonts(Object.fromEntries(files.map(({ family, normal, bold }) => [family, { normal, bold }])));
  const bytes = await pdfmake.createPdf(definition).getBuffer();
  return new Uint8Array(bytes);
}

/** What a page ends with has no room below it: it would go to a page of its own, with nothing on it. */
function endingAt(blocks: Content[], isLastOfPage: boolean): Content[] {
  const last = blocks.at(-1);
  if (!isLastOfPage || last === undefined || !Array.isArray(last['margin'])) return blocks;
  const [left, top_, right] = last['margin'] as number[];
  return [...blocks.slice(0, -1), { ...last, margin: [left, top_, right, 0] }];
}

const replacedWords =
  '[U+…] stands for a character that the type of this file lacks, or whose script runs from right to left, by its ' +
  'code point in Unicode. The report as a page shows it as it was written.';

type Layout = ReturnType<typeof createLayout>;

function header(document: ReportDocument, page: number, { oneLine, text, width }: Layout): Content {
  const { virtual, head } = document;
  // Bold letters are a tenth wider at most; the frame has its room, and so has the gap.
  const banner = virtual === null ? 0 : width(virtual) * 8.6 * 1.1 + 28;
  const left: Content = {
    text: page === 1 ? '' : oneLine(head, textWidth - banner, 8.6, { color: ink.ink2 }),
    fontSize: 8.6,
    width: '*',
    margin: [0, 4, 0, 0],
  };
  const right: Content[] =
    virtual === null
      ? []
      : [
          {
            width: 'auto',
            table: { body: [[{ text: text(virtual, { bold: true }), fontSize: 8.6, noWrap: true }]] },
            layout: {
              hLineWidth: () => 1,
              vLineWidth: () => 1,
              hLineColor: () => ink.ink,
              vLineColor: () => ink.ink,
              hLineStyle: () => ({ dash: { length: 3, space: 2 } }),
              vLineStyle: () => ({ dash: { length: 3, space: 2 } }),
              paddingLeft: () => 7,
              paddingRight: () => 7,
              paddingTop: () => 2,
              paddingBottom: () => 2,
            },
          },
        ];
  return { columns: [left, ...right], columnGap: 12, margin: [side, 26, side, 0] };
}

function footer(
  document: ReportDocument,
  documentDigest: string,
  page: number,
  pages: number,
  { oneLine, runs, text }: Layout,
): Content {
  const rule = { type: 'line' as const, x1: 0, y1: 0, x2: textWidth, y2: 0, lineWidth: 0.6, lineColor: ink.line };
  const look = { color: ink.ink2 };
  return {
    stack: [
      { canvas: [rule], margin: [0, 0, 0, 5] },
      {
        columns: [
          {
            stack: document.foot.map((line, index): Content => ({
              text: oneLine(line, textWidth - numberWidth, index === 0 ? 8 : 7, look),
              fontSize: index === 0 ? 8 : 7,
            })),
            width: '*',
          },
          {
            stack: [
              { text: text(`Page ${page} of ${pages}`, look), fontSize: 8 },
              { text: runs([{ text: `report ${documentDigest.slice(0, 16)}`, wire: true }], look), fontSize: 7 },
            ],
            width: 'auto',
            alignment: 'right',
          },
        ],
        columnGap: 12,
      },
    ],
    margin: [side, 16, side, 0],
  };
}
