/** What cannot be used: hatched while settling, crossed where nothing was read, dotted below the limit. */
export type PatternKind = 'hatch' | 'cross' | 'dots';

const tiles = new Map<string, CanvasPattern | null>();
const size = 8;

/** A pattern in a colour; made once for each. */
export function pattern(context: CanvasRenderingContext2D, kind: PatternKind, colour: string): CanvasPattern | string {
  const key = `${kind} ${colour}`;
  let tile = tiles.get(key);
  if (tile === undefined) {
    tile = context.createPattern(draw(kind, colour), 'repeat');
    tiles.set(key, tile);
  }
  return tile ?? colour;
}

function draw(kind: PatternKind, colour: string): HTMLCanvasElement {
  const canvas = document.createElement('canvas');
  canvas.width = size;
  canvas.height = size;
  const context = canvas.getContext('2d');
  if (context === null) return canvas;
  context.strokeStyle = colour;
  context.fillStyle = colour;
  context.lineWidth = 1.2;
  if (kind === 'dots') {
    context.globalAlpha = 0.55;
    for (const [x, y] of [
      [2, 2],
      [6, 6],
    ] as const) {
      context.fillRect(x, y, 1.3, 1.3);
    }
    return canvas;
  }
  context.beginPath();
  for (const shift of [-size, 0, size]) {
    context.moveTo(shift, size);
    context.lineTo(shift + size, 0);
    if (kind === 'cross') {
      context.moveTo(shift, 0);
      context.lineTo(shift + size, size);
    }
  }
  context.globalAlpha = 0.7;
  context.stroke();
  return canvas;
}
