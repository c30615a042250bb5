import type { ReactElement } from 'react';
import { useMemo } from 'react';
import { gridPlaces } from '../../../src/calibration/check/kinds/uniformity.ts';
import { levelsOf } from '../../../src/calibration/check/kinds/linearity.ts';
import { fallReadingsOf } from '../../../src/calibration/check/kinds/response.ts';
import type { CheckRecord, CheckStream } from '../../../src/calibration/check/step.ts';
import type { CheckResult, Figure } from '../../../src/calibration/check/vocabulary.ts';
import { dispersedStep } from '../../../src/calibration/step-response.ts';
import type { Rig } from '../../../src/model/rig.ts';
import { units } from '../../../src/model/unit.ts';
import { checkWords } from '../../words/checks.ts';
import { Axes } from './axes.tsx';
import type { Frame } from './plot.ts';
import { rangeOf, thinned, xOf, yOf } from './plot.ts';

const width = 900;
const height = 420;
/** More points than this of one stretch cannot be told apart. */
const mostPoints = 160;

/** What a check recorded, drawn as its verdict sees it. */
export function RecordChart(props: {
  readonly record: CheckRecord;
  readonly rig: Rig;
  readonly result: CheckResult;
}): ReactElement | null {
  const { record, result, rig } = props;
  const stream = record.streams[0];
  if (result.check === 'uniformity') return <PlaceMap figures={result.figures} />;
  if (stream === undefined) return null;
  if (result.check === 'response') return <Falls record={record} rig={rig} figures={result.figures} stream={stream} />;
  if (result.check === 'linearity') return <Line record={record} rig={rig} figures={result.figures} stream={stream} />;
  return <Trace record={record} stream={stream} name={checkWords.name(result.check)} />;
}

function unitWords({ unit }: CheckStream): string {
  return units[unit].symbol;
}

/** The whole check over time; what was read is on a shaded ground. */
function Trace(props: {
  readonly record: CheckRecord;
  readonly stream: CheckStream;
  readonly name: string;
}): ReactElement {
  const { record, stream } = props;
  const seconds = stream.atMicroseconds.map((at) => at / 1e6);
  const end = (record.steps.at(-1)?.endedAtMicroseconds ?? 1e6) / 1e6;
  const frame: Frame = { width, height, x: [0, end], y: rangeOf(stream.values) };
  // Where a person did something nothing was recorded: the line is broken there.
  let before = Number.NEGATIVE_INFINITY;
  const path = thinned(seconds.length, 1200)
    .map((index) => {
      const at = seconds[index] ?? 0;
      const gap = at - before > 2 + end / 200;
      before = at;
      return `${gap ? 'M' : 'L'}${xOf(frame, at).toFixed(1)} ${yOf(frame, stream.values[index] ?? 0).toFixed(1)}`;
    })
    .join('');
  return (
    <Axes frame={frame} label={checkWords.recordOf(props.name)} xWords={checkWords.time} yWords={unitWords(stream)}>
      {record.steps
        .filter(({ step }) => step.step === 'read')
        .map(({ beganAtMicroseconds, endedAtMicroseconds, step }) => (
          <rect
            key={step.part}
            className="chart-read"
            x={xOf(frame, beganAtMicroseconds / 1e6)}
            width={xOf(frame, endedAtMicroseconds / 1e6) - xOf(frame, beganAtMicroseconds / 1e6)}
            y={12}
            height={height - 46}
          />
        ))}
      <path className="chart-line" d={path} />
    </Axes>
  );
}

const valueOf = (figures: readonly Figure[], name: string): number | null =>
  figures.find(({ figure }) => figure === name)?.value ?? null;

/** Five falls over one another as open circles, and the response that was found as one line. */
function Falls(props: {
  readonly record: CheckRecord;
  readonly rig: Rig;
  readonly figures: readonly Figure[];
  readonly stream: CheckStream;
}): ReactElement {
  const { figures, record, rig, stream } = props;
  const falls = useMemo(() => fallReadingsOf(record, rig), [record, rig]);
  const first = Math.min(-1, ...falls.map(({ readings }) => readings.seconds[0] ?? 0));
  const last = Math.max(1, ...falls.map(({ readings }) => readings.seconds.at(-1) ?? 0));
  const all = falls.flatMap(({ readings }) => [...readings.values]);
  const frame: Frame = { width, height, x: [first, last], y: rangeOf(all) };
  const transit = valueOf(figures, 'transit');
  const timeConstant = valueOf(figures, 'time-constant');
  const dispersion = valueOf(figures, 'dispersion') ?? 0;
  const levels = falls.map(({ readings: { seconds, values } }) => ({
    before: meanWhere(seconds, values, (at) => at <= 0),
    after: meanWhere(seconds, values, (at) => at > 0.8 * last),
  }));
  const before = levels.reduce((sum, one) => sum + one.before, 0) / levels.length;
  const after = levels.reduce((sum, one) => sum + one.after, 0) / levels.length;
  const curve =
    transit === null || timeConstant === null
      ? ''
      : Array.from({ length: 240 }, (_, index) => {
          const at = first + (index / 239) * (last - first);
          const value = before + (after - before) * dispersedStep(at, transit, dispersion, timeConstant);
          return `${index === 0 ? 'M' : 'L'}${xOf(frame, at).toFixed(1)} ${yOf(frame, value).toFixed(1)}`;
        }).join('');
  return (
    <Axes
      frame={frame}
      label={checkWords.recordOf(checkWords.name('response'))}
      xWords={checkWords.time}
      yWords={unitWords(stream)}
    >
      <path className="limit-ends" d={`M${xOf(frame, 0)} 12V${height - 34}`} />
      {falls.map(({ part, readings }) => (
        <g key={part}>
          {thinned(readings.seconds.length, mostPoints).map((index) => (
            <circle
              key={index}
              className="chart-reading"
              r="2.6"
              cx={xOf(frame, readings.seconds[index] ?? 0)}
              cy={yOf(frame, readings.values[index] ?? 0)}
            />
          ))}
        </g>
      ))}
      <path className="chart-fit" d={curve} />
    </Axes>
  );
}

function meanWhere(seconds: Float64Array, values: Float64Array, where: (at: number) => boolean): number {
  const chosen = values.filter((_, index) => where(seconds[index] ?? 0));
  return chosen.reduce((sum, value) => sum + value, 0) / Math.max(1, chosen.length);
}

/** Readings over known concentrations, with the line through them. */
function Line(props: {
  readonly record: CheckRecord;
  readonly rig: Rig;
  readonly figures: readonly Figure[];
  readonly stream: CheckStream;
}): ReactElement {
  const levels = useMemo(() => levelsOf(props.record, props.rig), [props.record, props.rig]);
  const x = rangeOf(levels.map(({ concentration }) => concentration));
  const frame: Frame = { width, height, x, y: rangeOf(levels.map(({ reading }) => reading)) };
  const slope = valueOf(props.figures, 'slope');
  const intercept = valueOf(props.figures, 'intercept');
  const at = (known: number): string =>
    `${xOf(frame, known)} ${yOf(frame, (intercept ?? 0) + (slope ?? 0) * known)}`;
  return (
    <Axes
      frame={frame}
      label={checkWords.recordOf(checkWords.name('linearity'))}
      xWords={`${checkWords.known}, ${unitWords(props.stream)}`}
      yWords={unitWords(props.stream)}
    >
      {slope !== null && intercept !== null && <path className="chart-fit" d={`M${at(x[0])}L${at(x[1])}`} />}
      {levels.map(({ concentration, reading }) => (
        <circle
          key={concentration}
          className="chart-reading chart-level"
          r="7"
          cx={xOf(frame, concentration)}
          cy={yOf(frame, reading)}
        />
      ))}
    </Axes>
  );
}

/** The chamber from the front: every place with its deviation from the mean. */
function PlaceMap({ figures }: { readonly figures: readonly Figure[] }): ReactElement {
  return (
    <svg
      className="check-chart"
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-label={checkWords.recordOf(checkWords.name('uniformity'))}
    >
      {gridPlaces.map(({ place, xMetres, zMetres }) => {
        const found = figures.find(({ figure }) => figure === `deviation ${place}`);
        const x = width / 2 + (xMetres / 0.4) * 280;
        const y = height / 2 - ((zMetres - 1.1) / 0.6) * 130;
        return (
          <g key={place}>
            <rect
              className={found?.passed === false ? 'place place-out' : 'place'}
              x={x - 130}
              y={y - 58}
              width="260"
              height="116"
            />
            <text className="place-value" x={x} y={y + 4} textAnchor="middle">
              {checkWords.value(found?.value ?? null, 'percent')}
            </text>
            <text className="chart-words" x={x} y={y + 34} textAnchor="middle">
              {checkWords.figure(`deviation ${place}`)}
            </text>
          </g>
        );
      })}
    </svg>
  );
}
