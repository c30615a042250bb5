import type { ReactElement } from 'react';
import { probeLook, type ProbeShape } from '../../src/report/probe-look.ts';
import './probe-mark.css';

const shapes = {
  disc: <circle r="9" />,
  square: <rect x="-8" y="-8" width="16" height="16" />,
  triangle: <path d="M0 -9.5L9.5 8H-9.5Z" />,
  diamond: <path d="M0 -11L10 0L0 11L-10 0Z" />,
  inverted: <path d="M0 9.5L9.5 -8H-9.5Z" />,
  cross: <path d="M-3 -9H3V-3H9V3H3V9H-3V3H-9V-3H-3Z" />,
  ring: <circle r="7" className="probe-ring" />,
  bar: <rect x="-10" y="-3.5" width="20" height="7" />,
} as const satisfies Readonly<Record<ProbeShape, ReactElement>>;

/** The class that sets a probe's colour as `currentColor`. */
export function probeTone(probe: string): string {
  return `probe-${probeLook(probe).tone}`;
}

/** The mark of a probe inside a drawing, its middle at `x` and `y`. Hollow for a probe on the back. */
export function ProbeGlyph(props: {
  readonly probe: string;
  readonly size: number;
  readonly x: number;
  readonly y: number;
  readonly hollow?: boolean;
}): ReactElement {
  return (
    <g
      className={`probe ${probeTone(props.probe)}${props.hollow === true ? ' probe-hollow' : ''}`}
      transform={`translate(${props.x} ${props.y}) scale(${props.size / 22})`}
    >
      {shapes[probeLook(props.probe).shape]}
    </g>
  );
}

/** The mark of a probe in a line of text. On a lit surface it takes the colour of the other theme. */
export function ProbeMark(props: {
  readonly probe: string;
  readonly size: number;
  readonly lit?: boolean;
}): ReactElement {
  return (
    <svg
      className={props.lit === true ? 'probe-mark on-lit' : 'probe-mark'}
      viewBox="-11 -11 22 22"
      width={props.size}
      height={props.size}
      aria-hidden="true"
    >
      <ProbeGlyph probe={props.probe} size={22} x={0} y={0} />
    </svg>
  );
}
