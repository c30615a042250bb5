import type { Shape } from './figure.ts';
import { ink, px } from './figure.ts';

/** How a probe is told apart from another: by mark and by hue, in this order, so that grey print loses nothing. */
export type ProbeShape = 'disc' | 'square' | 'triangle' | 'diamond' | 'inverted' | 'cross' | 'ring' | 'bar';
export type ProbeTone = 'hood' | 'chest' | 'back' | 'thigh' | 'ankle' | 'sixth' | 'ref' | 'zero';

const looks: Readonly<Record<string, { readonly shape: ProbeShape; readonly tone: ProbeTone }>> = {
  hood: { shape: 'disc', tone: 'hood' },
  chest: { shape: 'square', tone: 'chest' },
  'lower-back': { shape: 'triangle', tone: 'back' },
  thigh: { shape: 'diamond', tone: 'thigh' },
  ankle: { shape: 'inverted', tone: 'ankle' },
  chamber: { shape: 'ring', tone: 'ref' },
  'filtered-air': { shape: 'bar', tone: 'zero' },
};

/** The look of a probe by its name; every other place of the body shares the last one. */
export function probeLook(probe: string): { readonly shape: ProbeShape; readonly tone: ProbeTone } {
  return (Object.hasOwn(looks, probe) ? looks[probe] : undefined) ?? { shape: 'cross', tone: 'sixth' };
}

/** On white paper. */
const colours: Readonly<Record<ProbeTone, string>> = {
  hood: '#2961ce',
  chest: '#918112',
  back: '#470672',
  thigh: '#2595a1',
  ankle: '#804674',
  sixth: '#093e1b',
  ref: ink.ink,
  zero: '#6a777a',
};

export function probeColour(probe: string): string {
  return colours[probeLook(probe).tone];
}

/** Corners of the marks that have some, of a mark 22 px across about its middle. */
const corners = {
  square: [[-8, -8], [8, -8], [8, 8], [-8, 8]],
  triangle: [[0, -9.5], [9.5, 8], [-9.5, 8]],
  diamond: [[0, -11], [10, 0], [0, 11], [-10, 0]],
  inverted: [[0, 9.5], [9.5, -8], [-9.5, -8]],
  bar: [[-10, -3.5], [10, -3.5], [10, 3.5], [-10, 3.5]],
  cross: [
    ...([[-3, -9], [3, -9], [3, -3], [9, -3], [9, 3], [3, 3]] as const),
    ...([[3, 9], [-3, 9], [-3, 3], [-9, 3], [-9, -3], [-3, -3]] as const),
  ],
} as const satisfies Partial<Record<ProbeShape, readonly (readonly [number, number])[]>>;

/** The outline of a mark with corners as a path, its middle at `x` and `y`, `size` px across. */
export function corneredPath(shape: keyof typeof corners, x: number, y: number, size: number): string {
  const s = size / 22;
  return `M${corners[shape].map(([dx, dy]) => `${px(x + dx * s)} ${px(y + dy * s)}`).join('L')}Z`;
}

/** The mark of a probe, its middle at `x` and `y`, `size` px across. */
export function probeMark(probe: string, x: number, y: number, size: number): Shape {
  const { shape } = probeLook(probe);
  const colour = probeColour(probe);
  const s = size / 22;
  switch (shape) {
    case 'disc':
      return { shape: 'circle', x, y, r: 9 * s, paint: { fill: colour } };
    case 'ring':
      return { shape: 'circle', x, y, r: 7 * s, paint: { stroke: colour, width: 4 * s } };
    default:
      return { shape: 'path', d: corneredPath(shape, x, y, size), paint: { fill: colour } };
  }
}

/** The mark of a flag. */
export function flagMark(x: number, y: number, size: number): Shape {
  const h = size / 2;
  return {
    shape: 'path',
    d: `M${px(x)} ${px(y - h)}L${px(x + h)} ${px(y + h * 0.8)}H${px(x - h)}Z`,
    paint: { fill: ink.caution, stroke: ink.ink, width: 1 },
  };
}
