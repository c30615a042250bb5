/**
 * Drawings as data: a few shapes, in px of a page 666 wide, from the top left corner. One text of SVG for every
 * renderer, so that the figures of a page and of a file are the same.
 */
export type Shape =
  | { readonly shape: 'path'; readonly d: string; readonly paint: Paint }
  | {
      readonly shape: 'rect';
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
      readonly paint: Paint;
    }
  | { readonly shape: 'circle'; readonly x: number; readonly y: number; readonly r: number; readonly paint: Paint }
  | {
      readonly shape: 'text';
      readonly x: number;
      readonly y: number;
      readonly text: string;
      readonly size: number;
      readonly anchor: 'start' | 'middle' | 'end';
      readonly bold?: boolean;
      readonly colour: string;
    };

export interface Paint {
  readonly fill?: string;
  readonly stroke?: string;
  readonly width?: number;
  /** Lengths of strokes and holes. */
  readonly dash?: string;
}

export interface Figure {
  /** Unique in the document; of letters, digits and hyphens. */
  readonly id: string;
  readonly width: number;
  readonly height: number;
  /** What it is, in few words. */
  readonly title: string;
  /** What is to be seen in it, for those who do not see it. */
  readonly description: string;
  readonly shapes: readonly Shape[];
}

/** Width of the text of a page, px. */
export const pageWidth = 666;

/** Ink and ground of the printed page; probes and trouble have the only hues. */
export const ink = {
  ink: '#0f1b1f',
  ink2: '#414f53',
  ink3: '#566468',
  line: '#c5cecb',
  edge: '#758382',
  sunk: '#eef1f0',
  page: '#ffffff',
  caution: '#f5ac00',
} as const;

/** A text written into SVG or HTML, in text or in an attribute. */
export function escapeMarkup(text: string): string {
  return text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll("'", '&#39;');
}

/** A length or place as it is written: two decimals are finer than any printer. */
export function px(value: number): string {
  const text = value.toFixed(2).replace(/\.?0+$/, '');
  return text === '-0' ? '0' : text;
}

export interface SvgOptions {
  /** Names of the type, most wanted first. */
  readonly family: string;
  /** Content of a text element; the escaped text when absent. */
  readonly content?: (text: string, bold: boolean) => string;
  /** Titled for those who do not see it; a PDF has no place for that. */
  readonly titled: boolean;
}

/** The drawing as one `svg` element, without scripts, styles or references to anything outside it. */
export function figureSvg(figure: Figure, options: SvgOptions): string {
  const { id, width, height } = figure;
  const content = options.content ?? escapeMarkup;
  const size = `width="${px(width)}" height="${px(height)}" viewBox="0 0 ${px(width)} ${px(height)}"`;
  const labels = options.titled ? ` role="img" aria-labelledby="${id}-title ${id}-description"` : '';
  const titles = options.titled
    ? `<title id="${id}-title">${escapeMarkup(figure.title)}</title>` +
      `<desc id="${id}-description">${escapeMarkup(figure.description)}</desc>`
    : '';
  const shapes = figure.shapes.map((shape) => shapeSvg(shape, options.family, content)).join('');
  return `<svg xmlns="http://www.w3.org/2000/svg" ${size}${labels}>${titles}${shapes}</svg>`;
}

function shapeSvg(shape: Shape, family: string, content: (text: string, bold: boolean) => string): string {
  switch (shape.shape) {
    case 'path':
      return `<path d="${shape.d}"${paintOf(shape.paint)}/>`;
    case 'rect': {
      const { x, y, width, height } = shape;
      const place = `x="${px(x)}" y="${px(y)}" width="${px(width)}" height="${px(height)}"`;
      return `<rect ${place}${paintOf(shape.paint)}/>`;
    }
    case 'circle':
      return `<circle cx="${px(shape.x)}" cy="${px(shape.y)}" r="${px(shape.r)}"${paintOf(shape.paint)}/>`;
    case 'text': {
      const bold = shape.bold === true;
      const type = `font-family="${family}" font-size="${px(shape.size)}"${bold ? ' font-weight="bold"' : ''}`;
      const place = `x="${px(shape.x)}" y="${px(shape.y)}" text-anchor="${shape.anchor}"`;
      return `<text ${place} ${type} fill="${shape.colour}">${content(shape.text, bold)}</text>`;
    }
  }
}

function paintOf(paint: Paint): string {
  const parts = [` fill="${paint.fill ?? 'none'}"`];
  if (paint.stroke !== undefined) {
    parts.push(` stroke="${paint.stroke}" stroke-width="${px(paint.width ?? 1)}" stroke-linejoin="round"`);
  }
  if (paint.dash !== undefined) parts.push(` stroke-dasharray="${paint.dash}"`);
  return parts.join('');
}

export function line(x1: number, y1: number, x2: number, y2: number, paint: Paint): Shape {
  return { shape: 'path', d: `M${px(x1)} ${px(y1)}L${px(x2)} ${px(y2)}`, paint };
}

/** Slanted lines that fill a rectangle: a pattern that needs no definition and prints everywhere. */
export function hatch(x: number, y: number, width: number, height: number, step: number, paint: Paint): Shape {
  const parts: string[] = [];
  for (let offset = step; offset < width + height; offset += step) {
    const fromX = x + Math.max(0, offset - height);
    const fromY = y + Math.min(height, offset);
    const toX = x + Math.min(width, offset);
    const toY = y + Math.max(0, offset - width);
    parts.push(`M${px(fromX)} ${px(fromY)}L${px(toX)} ${px(toY)}`);
  }
  return { shape: 'path', d: parts.join(''), paint };
}

/** Dots that fill a rectangle: what lies below a detection limit. */
export function dots(x: number, y: number, width: number, height: number, paint: { readonly fill: string }): Shape {
  const parts: string[] = [];
  const step = 5;
  for (let row = 0; row * step + 2.5 < height; row += 1) {
    for (let column = 0; column * step + 2.5 < width; column += 1) {
      const shift = row % 2 === 0 ? 0 : step / 2;
      if (column * step + 2.5 + shift > width - 0.5) continue;
      parts.push(`M${px(x + column * step + 2 + shift)} ${px(y + row * step + 2)}h1v1h-1z`);
    }
  }
  return { shape: 'path', d: parts.join(''), paint };
}

/** About how wide a text is, px: what a figure needs to leave room; never used to place the letters themselves. */
export function roughWidth(text: string, size: number): number {
  return [...text].length * size * 0.51;
}

/** A text cut to about a width, with an ellipsis where it was cut. */
export function cutToWidth(text: string, size: number, width: number): string {
  if (roughWidth(text, size) <= width) return text;
  const most = Math.floor(width / (size * 0.51)) - 1;
  return most < 1 ? '' : `${[...text].slice(0, most).join('').trimEnd()}…`;
}

/** About how wide a bold letter is, in sizes, rather too wide: what must not run into its neighbour is broken by it. */
const boldLetter = 0.58;

/** Room that a bold text needs on one line, px. */
export function boldWidth(text: string, size: number): number {
  return [...text].length * size * boldLetter;
}

/**
 * A bold text in lines of a width: broken at blanks and after hyphens, and a word that is wider than a line anywhere.
 * @param mostLines what is more than them is cut with an ellipsis
 */
export function linesOfBold(text: string, size: number, width: number, mostLines: number): string[] {
  const most = Math.floor(width / (size * boldLetter));
  if (most < 1) return [];
  const lines: string[] = [];
  let now = '';
  const put = (whole: string): void => {
    if (now !== '' && [...now, ...whole.trimEnd()].length > most) {
      lines.push(now.trimEnd());
      now = '';
    }
    // Blanks at the beginning of a line take no room and would push out what follows.
    let part = now === '' ? whole.trimStart() : whole;
    while ([...part.trimEnd()].length > most) {
      const letters = [...part];
      lines.push(letters.splice(0, most).join(''));
      part = letters.join('');
    }
    now += part;
  };
  for (const part of text.split(/(?<=[ -])/u)) put(part);
  if (now.trimEnd() !== '') lines.push(now.trimEnd());
  if (lines.length <= mostLines) return lines;
  const kept = lines.slice(0, mostLines);
  const last = [...(kept.pop() ?? '')].slice(0, Math.max(0, most - 1)).join('').trimEnd();
  return [...kept, `${last}…`];
}
