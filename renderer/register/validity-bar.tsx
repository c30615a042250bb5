import type { ReactElement } from 'react';
import { daysLeft } from '../../src/calibration/register/register.ts';

/** What the bar shows: half a year back, a year ahead, days. */
const back = 180;
const ahead = 365;
const width = 150;

/** From issue to last day, across the upright line of today; what is over is dashed. */
export function ValidityBar(props: {
  readonly issuedOn: string;
  readonly validUntil: string;
  readonly now: number;
}): ReactElement {
  const x = (day: string, plus: number): number => {
    const share = (daysLeft(day, props.now) + plus + back) / (back + ahead);
    return Math.min(Math.max(share, 0), 1) * width;
  };
  const from = x(props.issuedOn, 0);
  const to = x(props.validUntil, 1);
  const today = (back / (back + ahead)) * width;
  const over = daysLeft(props.validUntil, props.now) < 0;
  return (
    <svg className="due-bar" viewBox={`0 0 ${width} 16`} width={width} height="16" aria-hidden="true">
      <path className="limit-line" d={`M0 8H${width}`} />
      <rect
        className={over ? 'due-over' : 'due-holds'}
        x={from}
        y="5"
        width={Math.max(3, to - from)}
        height="6"
      />
      <path className="limit-ends" d={`M${today} 1V15`} />
    </svg>
  );
}
