import type { ReactElement } from 'react';
import type { CheckStanding } from '../../../src/calibration/check/standing.ts';

const dayMilliseconds = 86_400_000;
/** What the bar shows: a month back, three ahead. */
const back = 30 * dayMilliseconds;
const ahead = 90 * dayMilliseconds;
const width = 150;

/** From done to due, across the upright line of today; what is over is hatched. */
export function DueBar(props: { readonly standing: CheckStanding; readonly now: number }): ReactElement {
  const { dueAt, newest, standing } = props.standing;
  const x = (at: number): number => {
    const share = (at - props.now + back) / (back + ahead);
    return Math.min(Math.max(share, 0), 1) * width;
  };
  const from = newest === null ? null : x(newest.madeAtMilliseconds);
  const to = dueAt === null ? null : x(dueAt);
  const today = x(props.now);
  return (
    <svg className="due-bar" viewBox={`0 0 ${width} 16`} width={width} height="16" aria-hidden="true">
      <path className="limit-line" d={`M0 8H${width}`} />
      {from !== null && to !== null && (
        <rect
          className={standing === 'overdue' ? 'due-over' : 'due-holds'}
          x={from}
          y="5"
          width={Math.max(3, to - from)}
          height="6"
        />
      )}
      <path className="limit-ends" d={`M${today} 1V15`} />
    </svg>
  );
}
