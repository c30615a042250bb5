import type { Block, Facts, Inline, ReportDocument, Section, Table, TableCell, Verdict, Words } from './document.ts';
import type { Shape } from './figure.ts';
import { escapeMarkup, figureSvg } from './figure.ts';
import { everyPage, htmlStyle } from './html-style.ts';
import { flagMark, probeMark } from './probe-look.ts';

/** A font file as it is written into the page. */
export interface EmbeddedFont {
  readonly use: 'text' | 'wire';
  /** Base64 of a WOFF2 file with all weights from 200 to 800. */
  readonly base64: string;
  /** Characters it is for, as CSS writes them. */
  readonly unicodeRange: string;
}

export interface HtmlParts {
  readonly fonts: readonly EmbeddedFont[];
  /** SHA-256 of a text in UTF-8, base64: lets the page's own style pass its own policy. */
  readonly sha256: (text: string) => string;
  /** Digest of the document, hexadecimal: the same in every form of the same report. */
  readonly documentDigest: string;
}

/**
 * One file that needs nothing else: no script, nothing fetched, and a policy of its own that refuses both.
 * @returns the text of the file, to be written in UTF-8.
 */
export function reportHtml(document: ReportDocument, parts: HtmlParts): string {
  const { virtual, foot } = document;
  const style = [...parts.fonts.map(fontFace), htmlStyle, virtual === null ? '' : everyPage(virtual)].join('');
  const policy = [
    "default-src 'none'",
    `style-src 'sha256-${parts.sha256(style)}'`,
    'font-src data:',
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  return [
    '<!doctype html>',
    `<html lang="${document.language}">`,
    '<head>',
    '<meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="${policy}">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    '<meta name="referrer" content="no-referrer">',
    `<title>${escapeMarkup(document.title)}</title>`,
    `<meta name="description" content="${escapeMarkup(document.about)}">`,
    `<meta name="generator" content="${escapeMarkup(document.maker)}">`,
    `<style>${style}</style>`,
    '</head>',
    '<body>',
    '<div class="sheet">',
    virtual === null ? '' : `<header><p class="virtual">${escapeMarkup(virtual)}</p></header>`,
    '<main>',
    ...document.sections.map((section) => sectionHtml(section, document.sections)),
    '</main>',
    '<footer>',
    ...foot.map((line) => `<p>${wordsHtml(line)}</p>`),
    `<p>report <span class="wire">${parts.documentDigest.slice(0, 16)}</span></p>`,
    '</footer>',
    '</div>',
    '</body>',
    '</html>',
    '',
  ].join('\n');
}

function fontFace({ use, base64, unicodeRange }: EmbeddedFont): string {
  const family = use === 'text' ? 'Report' : 'Report Mono';
  const source = `url(data:font/woff2;base64,${base64}) format("woff2")`;
  return `@font-face{font-family:"${family}";font-weight:200 800;src:${source};unicode-range:${unicodeRange}}\n`;
}

/** Sections that are short stand on the page of the one before. */
function sectionHtml(section: Section, all: readonly Section[]): string {
  const heading =
    section.heading === null ? '' : `<h2 id="${section.id}-heading">${escapeMarkup(section.heading)}</h2>`;
  const label = section.heading === null ? ' aria-label="Summary"' : ` aria-labelledby="${section.id}-heading"`;
  const joined = section.joined === true ? ' class="joined"' : '';
  const contents = section.heading === null ? contentsHtml(all) : '';
  return [
    `<section id="${section.id}"${label}${joined}>`,
    heading,
    ...section.blocks.map((block) => blockHtml(block, section.heading === null ? 2 : 3)),
    contents,
    '</section>',
  ].join('\n');
}

function contentsHtml(sections: readonly Section[]): string {
  const items = sections.flatMap(({ id, heading }) =>
    heading === null ? [] : [`<li><a href="#${id}">${escapeMarkup(heading)}</a></li>`],
  );
  return (
    '<nav aria-labelledby="contents-heading"><h2 ' +
    `id="contents-heading">Contents</h2><ol>${items.join('')}</ol></nav>`
  );
}

/** @param level of a heading in it: one below what it stands under. */
function blockHtml(block: Block, level: 2 | 3): string {
  switch (block.block) {
    case 'title':
      return `<h1>${wordsHtml(block.words)}</h1><p class="below">${wordsHtml(block.below)}</p>`;
    case 'answer':
      return `<p class="answer">${wordsHtml(block.words)}</p>`;
    case 'verdicts':
      return `<ul class="verdicts">${block.verdicts.map(verdictHtml).join('')}</ul>`;
    case 'heading':
      return `<h${level} class="minor">${escapeMarkup(block.text)}</h${level}>`;
    case 'paragraph':
      return `<p${block.quiet === true ? ' class="quiet"' : ''}>${wordsHtml(block.words)}</p>`;
    case 'list': {
      const items = block.items.map((item) => `<li>${wordsHtml(item)}</li>`).join('');
      return `<ul${block.care === true ? ' class="care"' : ''}>${items}</ul>`;
    }
    case 'figure': {
      const svg = figureSvg(block.figure, { family: 'Report, system-ui, sans-serif', titled: true });
      const caption = block.caption === '' ? '' : `<figcaption>${escapeMarkup(block.caption)}</figcaption>`;
      // In a narrow window it keeps its size and scrolls: its letters would be too small to read.
      const label = `Figure: ${escapeMarkup(block.figure.title)}`;
      const place = `<div class="scroll" role="region" tabindex="0" aria-label="${label}">${svg}</div>`;
      return `<figure>${place}${caption}</figure>`;
    }
    case 'pair':
      return `<div class="pair">${[block.left, block.right]
        .map((side) => `<div>${side.map((inner) => blockHtml(inner, level)).join('')}</div>`)
        .join('')}</div>`;
    case 'facts':
      return factsHtml(block);
    case 'table':
      return tableHtml(block);
  }
}

function verdictHtml({ mark, title, more }: Verdict): string {
  return `<li>${verdictSvg(mark)}<span><b>${escapeMarkup(title)}</b><span>${escapeMarkup(more)}</span></span></li>`;
}

/** A tick on ink, a flag, or an open box: said by shape, not by hue. */
export function verdictSvg(mark: Verdict['mark']): string {
  const box =
    `<rect x="1" y="1" width="32" height="32" fill="${mark === 'good' ? '#0f1b1f' : '#ffffff'}" ` +
    'stroke="#0f1b1f" stroke-width="2"/>';
  const sign =
    mark === 'good'
      ? '<path d="M10 17.5L15.3 23L25 11.5" fill="none" stroke="#ffffff" stroke-width="3"/>'
      : mark === 'doubt'
        ? '<path d="M17 8L26.5 25H7.500Z" fill="#f5ac00" stroke="#0f1b1f" stroke-width="1.5"/>'
        : '<path d="M10 17H24" fill="none" stroke="#0f1b1f" stroke-width="3"/>';
  const size = 'width="34" height="34" viewBox="0 0 34 34"';
  return `<svg xmlns="http://www.w3.org/2000/svg" ${size} aria-hidden="true">${box}${sign}</svg>`;
}

function factsHtml({ rows }: Facts): string {
  const items = rows.map(({ name, value }) => `<dt>${escapeMarkup(name)}</dt><dd>${wordsHtml(value)}</dd>`);
  return `<dl>${items.join('')}</dl>`;
}

function tableHtml(table: Table): string {
  const { columns } = table;
  const total = columns.reduce((sum, { width }) => sum + width, 0);
  const widths = columns.map(({ width }) => `<col width="${((100 * width) / total).toFixed(2)}%">`).join('');
  const heads = columns
    .map(
      ({ heading, align }) =>
        `<th scope="col"${align === 'right' ? ' class="n"' : ''}>${wordsHtml([{ text: heading, given: true }])}</th>`,
    )
    .join('');
  const row = (cells: readonly TableCell[]): string =>
    `<tr>${cells
      .map((cell, index) => {
        const tag = index === 0 ? 'th' : 'td';
        const scope = index === 0 ? ' scope="row"' : '';
        const right = columns[index]?.align === 'right' ? ' class="n"' : '';
        return `<${tag}${scope}${right}>${cellHtml(cell)}</${tag}>`;
      })
      .join('')}</tr>`;
  const foot = table.totals.length === 0 ? '' : `<tfoot>${table.totals.map(row).join('')}</tfoot>`;
  const caption = escapeMarkup(table.caption);
  const dense = columns.length > 6 ? ' class="dense"' : '';
  return [
    `<div class="scroll" role="region" tabindex="0" aria-label="${caption}"><table${dense}>`,
    `<caption>${caption}</caption><colgroup>${widths}</colgroup><thead><tr>${heads}</tr></thead>`,
    `${bodies(table, row)}${foot}</table></div>`,
    ...table.notes.map((note) => `<p class="notes">${wordsHtml(note)}</p>`),
  ].join('');
}

/** One body, or one for each group under its heading. */
function bodies({ rows, groups = [], columns }: Table, row: (cells: readonly TableCell[]) => string): string {
  if (groups.length === 0) return `<tbody>${rows.map(row).join('\n')}</tbody>`;
  return groups
    .map(({ from, heading }, index) => {
      const head = `<th scope="rowgroup" colspan="${columns.length}">${wordsHtml(heading)}</th>`;
      const own = rows.slice(from, groups[index + 1]?.from).map(row);
      return `<tbody><tr data-group="">${head}</tr>${own.join('\n')}</tbody>`;
    })
    .join('\n');
}

function cellHtml(cell: TableCell): string {
  const probe = cell.probe === undefined ? '' : markSvg(probeMark(cell.probe, 7, 7, 13));
  const flag = cell.flagged === true ? `${markSvg(flagMark(7, 7.5, 11))}<span class="hidden">in doubt: </span>` : '';
  return `${flag}${probe}${wordsHtml(cell.words)}`;
}

function markSvg(shape: Shape): string {
  const figure = { id: 'mark', width: 14, height: 14, title: '', description: '', shapes: [shape] };
  const svg = figureSvg(figure, { family: 'Report', titled: false });
  return svg.replace('<svg ', '<svg class="mark" aria-hidden="true" ');
}

export function wordsHtml(words: Words): string {
  return words.map(inlineHtml).join('');
}

/** It has a width of its own: two lines of 32 where one of 64 has no room. */
const isDigest = /^[0-9a-f]{64}$/;

function inlineHtml({ text, strong, wire, given }: Inline): string {
  const digest = wire === true && isDigest.test(text);
  let html = escapeMarkup(text);
  if (given === true) html = `<bdi>${html}</bdi>`;
  if (wire === true) html = `<span class="wire${digest ? ' digest' : ''}">${html}</span>`;
  return strong === true ? `<b>${html}</b>` : html;
}
