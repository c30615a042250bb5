import type { ReactElement } from 'react';
import './body.css';

const limbs = [
  { d: 'M-8 2L-11 38L-13 76', width: 15 },
  { d: 'M-13 76L-19 79', width: 13 },
  { d: 'M8 2L11 38L13 76', width: 15 },
  { d: 'M13 76L19 79', width: 13 },
  { d: 'M-16 -56L16 -56L11 -22L9 0L-9 0L-11 -22Z', width: 11, filled: true },
  { d: 'M0 -82V-58', width: 15 },
  { d: 'M-16 -56L-24 -28L-29 0', width: 11 },
  { d: 'M16 -56L24 -28L29 0', width: 11 },
] as const;
const seals =
  'M-33.3 -9.9L-21.5 -7.8M-33.9 -6.5L-22.1 -4.4M21.5 -7.8L33.3 -9.9M22.1 -4.4L33.9 -6.5' +
  'M-18.5 66.7L-6.5 67.3M-18.7 70.2L-6.7 70.8M6.5 67.3L18.5 66.7M6.7 70.8L18.7 70.2';
/** From the top of the hood to the soles, and from there to the origin of the drawing, in its own units. */
const tall = 186;
const top = 97;
const outline = 3.4;

/** A person in an ensemble: limbs are strokes of one width in a suit colour with an ink outline. `x` is the middle. */
export function Body(props: {
  readonly x: number;
  readonly y: number;
  readonly height: number;
  readonly quiet?: boolean;
}): ReactElement {
  const scale = props.height / tall;
  return (
    <g
      className={props.quiet === true ? 'body body-quiet' : 'body'}
      transform={`translate(${props.x} ${props.y + top * scale}) scale(${scale})`}
    >
      {limbs.map(({ d, width, ...rest }) => (
        <path
          key={d}
          className={'filled' in rest ? 'body-line filled' : 'body-line'}
          d={d}
          strokeWidth={width + outline}
        />
      ))}
      {limbs.map(({ d, width, ...rest }) => (
        <path key={d} className={'filled' in rest ? 'body-suit filled' : 'body-suit'} d={d} strokeWidth={width} />
      ))}
      <circle className="body-hood" cy="-82" r="13.4" strokeWidth="1.7" />
      <rect className="body-window" x="-7" y="-87" width="14" height="9.5" rx="4" />
      <path className="body-seal" d={seals} />
      <rect className="body-belt" x="-15" y="-9" width="30" height="9" rx="2" strokeWidth="1.7" />
      <circle className="body-belt" cy="-4.5" r="2.6" strokeWidth="1.3" />
    </g>
  );
}

const places: Readonly<Record<string, readonly [x: number, y: number]>> = {
  hood: [0, -73],
  chest: [6, -44],
  'lower-back': [-7, -20],
  thigh: [9, 22],
  ankle: [12.5, 66],
};

/**
 * Where a probe sits on the body, in shares of its height from the middle and from the top. Probes that the drawing
 * does not know are spread from hood to ankle in the order of the rig.
 */
export function bodyPlace(probe: string, index: number, count: number): { x: number; y: number; behind: boolean } {
  const place = places[probe] ?? [0, -73 + (139 * index) / Math.max(count - 1, 1)];
  return { x: place[0] / tall, y: (place[1] + top) / tall, behind: probe.includes('back') };
}
