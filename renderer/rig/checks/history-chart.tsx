import type { ReactElement } from 'react';
import type { KeptCheck } from '../../../src/calibration/check/standing.ts';
import { checkWords } from '../../words/checks.ts';
import type { Frame } from './plot.ts';
import { rangeOf } from './plot.ts';

const width = 420;
const height = 120;
/** As many as can be told apart in this width. */
const most = 20;

/** One figure over the last checks, oldest at the left, between its newest limits. Hollow: passed; filled: failed. */
export function HistoryChart(props: {
  readonly figure: string;
  readonly history: readonly KeptCheck[];
}): ReactElement | null {
  const points = [...props.history]
    .slice(0, most)
    .reverse()
    .flatMap(({ number, result }) => {
      const found = result.figures.find(({ figure }) => figure === props.figure);
      return found?.value == null ? [] : [{ number, value: found.value, passed: found.passed, found }];
    });
  const newest = points.at(-1);
  if (newest === undefined) return null;
  const limits = [newest.found.low, newest.found.high].filter((limit) => limit !== null);
  const frame: Frame = {
    width,
    height,
    x: [-0.6, Math.max(1, points.length - 1) + 0.6],
    y: rangeOf([...limits, ...points.map(({ value }) => value)]),
  };
  const x = (index: number): number => ((index - frame.x[0]) / (frame.x[1] - frame.x[0])) * width;
  const y = (value: number): number => height - 10 - ((value - frame.y[0]) / (frame.y[1] - frame.y[0])) * (height - 20);
  return (
    <svg
      className="history-chart"
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-label={checkWords.historyOf(checkWords.figure(props.figure))}
    >
      {limits.map((limit) => (
        <path key={limit} className="history-limit" d={`M0 ${y(limit)}H${width}`} />
      ))}
      <path
        className="limit-line"
        d={points.map(({ value }, index) => `${index === 0 ? 'M' : 'L'}${x(index)} ${y(value)}`).join('')}
      />
      {points.map(({ number, passed, value }, index) => (
        <circle
          key={number}
          className={passed ? 'limit-mark' : 'limit-mark limit-mark-out'}
          cx={x(index)}
          cy={y(value)}
          r={index === points.length - 1 ? 7 : 5}
        />
      ))}
    </svg>
  );
}
