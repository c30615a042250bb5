import type { ReactElement, ReactNode } from 'react';
import { limitNumber } from '../../words/numbers.ts';
import type { Frame } from './plot.ts';
import { margin, ticksOf, xOf, yOf } from './plot.ts';

/** A chart with its axes; what is drawn in it are the children, in the frame's units. */
export function Axes(props: {
  readonly frame: Frame;
  readonly label: string;
  readonly xWords: string;
  readonly yWords: string;
  readonly children: ReactNode;
}): ReactElement {
  const { frame } = props;
  const { height, width } = frame;
  const foot = height - margin.bottom;
  return (
    <svg
      className="check-chart"
      viewBox={`0 0 ${width} ${height}`}
      preserveAspectRatio="xMidYMin"
      role="img"
      aria-label={props.label}
    >
      {ticksOf(frame.y).map((tick) => (
        <g key={tick}>
          <path className="chart-grid" d={`M${margin.left} ${yOf(frame, tick)}H${width - margin.right}`} />
          <text className="chart-tick" x={margin.left - 8} y={yOf(frame, tick) + 5} textAnchor="end">
            {limitNumber(tick, 6)}
          </text>
        </g>
      ))}
      {ticksOf(frame.x, 8).map((tick) => (
        <text key={tick} className="chart-tick" x={xOf(frame, tick)} y={foot + 18} textAnchor="middle">
          {limitNumber(tick, 6)}
        </text>
      ))}
      <path className="chart-axis" d={`M${margin.left} ${margin.top}V${foot}H${width - margin.right}`} />
      <text className="chart-words" x={margin.left + 6} y={margin.top + 12}>
        {props.yWords}
      </text>
      <text className="chart-words" x={width - margin.right} y={height - 2} textAnchor="end">
        {props.xWords}
      </text>
      {props.children}
    </svg>
  );
}
