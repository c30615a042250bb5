import type { ReactElement } from 'react';
import type { CheckCourse } from '../../src/bridge/register.ts';
import { standingOf } from '../../src/calibration/check/standing.ts';
import type { Figure } from '../../src/calibration/check/vocabulary.ts';
import { mainFigure } from '../rig/checks/desk-state.ts';
import { rangeOf } from '../rig/checks/plot.ts';
import { checkWords } from '../words/checks.ts';
import { limitNumber } from '../words/numbers.ts';
import { registerWords as words } from '../words/register.ts';
import { dayOf } from '../words/times.ts';
import { StandingMark } from './standing-mark.tsx';

const width = 420;
const height = 132;
const left = 8;
const right = 74;
const top = 10;
const foot = 24;

/**
 * What one check has shown over time: each result where its day is, the limits of the newest dashed across. Hollow:
 * passed; filled: failed.
 */
export function DriftChart({ course, now }: { readonly course: CheckCourse; readonly now: number }): ReactElement {
  const [newest] = course.results;
  const main = newest === undefined ? null : shownFigure(newest.result.figures);
  const name = `${checkWords.name(course.check)}${course.line === null ? '' : `, ${course.line}`}`;
  const points = [...course.results].reverse().flatMap(({ madeAtMilliseconds, number, result }) => {
    const found = result.figures.find(({ figure }) => figure === main?.figure);
    return found?.value == null ? [] : [{ number, at: madeAtMilliseconds, value: found.value, passed: found.passed }];
  });
  const limits = [main?.low ?? null, main?.high ?? null].filter((limit) => limit !== null);
  const [from, to] = rangeOf(points.map(({ at }) => at));
  const [low, high] = rangeOf([...limits, ...points.map(({ value }) => value)]);
  const single = points.length === 1;
  const x = (at: number): number =>
    left + (single ? 0.5 : (at - from) / (to - from)) * (width - left - right);
  const y = (value: number): number => height - foot - ((value - low) / (high - low)) * (height - foot - top);
  const first = points[0];
  const last = points.at(-1);
  return (
    <li className="drift">
      <header>
        <h4>{name}</h4>
        {newest !== undefined && <StandingMark standing={standingOf(newest, now).standing} />}
      </header>
      <p className="drift-newest">
        <span>{main === null ? '' : checkWords.figure(main.figure)}</span>{' '}
        <b>{main === null ? '–' : checkWords.value(main.value, main.unit)}</b>{' '}
        <span className="quiet drift-limit">{main === null ? '' : checkWords.limit(main.low, main.high)}</span>{' '}
        <span className="quiet">
          {newest !== undefined && words.newest(newest.result.at, newest.result.person)}
        </span>
      </p>
      {last !== undefined && first !== undefined && (
        <svg
          className="drift-chart"
          viewBox={`0 0 ${width} ${height}`}
          role="img"
          aria-label={words.courseOf(`${name}, ${main === null ? '' : checkWords.figure(main.figure)}`)}
        >
          {limits.map((limit) => (
            <g key={limit}>
              <path className="history-limit" d={`M${left} ${y(limit)}H${width - right}`} />
              <text className="chart-tick" x={width - right + 6} y={y(limit) + 5}>
                {limitNumber(limit, 3)}
              </text>
            </g>
          ))}
          <path
            className="limit-line"
            d={points.map(({ at, value }, index) => `${index === 0 ? 'M' : 'L'}${x(at)} ${y(value)}`).join('')}
          />
          {points.map(({ at, number, passed, value }) => (
            <circle
              key={number}
              className={passed ? 'limit-mark' : 'limit-mark limit-mark-out'}
              cx={x(at)}
              cy={y(value)}
              r={number === last.number ? 7 : 5}
            />
          ))}
          {!single && (
            <text className="chart-tick" x={left} y={height - 6}>
              {dayOf(new Date(first.at).toISOString())}
            </text>
          )}
          <text className="chart-tick" x={single ? x(last.at) : width - right} y={height - 6} textAnchor="end">
            {dayOf(new Date(last.at).toISOString())}
          </text>
        </svg>
      )}
      <p className="quiet">
        {course.rig}: {words.made(course.results.length)}
      </p>
    </li>
  );
}

/** The figure that a failed check failed by, else the one that stands for it. */
function shownFigure(figures: readonly Figure[]): Figure | null {
  return figures.find(({ passed }) => !passed) ?? mainFigure(figures);
}
