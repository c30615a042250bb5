import { useMemo, type ReactElement } from 'react';
import type { StudyView } from '../../src/bridge/study.ts';
import { contrastPower, type ContrastPower, mostSubjects } from '../../src/study/plan/power.ts';
import { scatterOf } from '../../src/study/plan/scatter.ts';
import { useSize } from '../ui/use-size.ts';
import { precisionWords } from '../words/precision.ts';
import { px } from './compare-layout.ts';

const height = 168;
const left = 52;
const top = 12;
const foot = height - 40;

/** How near a ratio would be known with more subjects, if they scatter as these do; nothing where that is not known. */
export function PrecisionCurve({ view }: { readonly view: StudyView }): ReactElement | null {
  const { ref, width } = useSize<HTMLDivElement>();
  const curve = useMemo(() => curveOf(view), [view]);
  if (curve === null) return null;
  const { now, points } = curve;
  const [first, last] = [points[0] as ContrastPower, points.at(-1) as ContrastPower];
  const right = Math.max(left + 60, width - 14);
  const xOf = (subjects: number): number =>
    left + ((subjects - first.subjects) / (last.subjects - first.subjects)) * (right - left);
  // From "known exactly" below to what the fewest subjects know above.
  const highest = Math.log(Math.min(first.likelyHalfWidth, 20));
  const yOf = (factor: number): number => Math.max(top, foot - (Math.log(factor) / highest) * (foot - top));
  const line = (of: (point: ContrastPower) => number): string =>
    points.map((point, index) => `${index === 0 ? 'M' : 'L'}${px(xOf(point.subjects))} ${px(yOf(of(point)))}`).join('');
  const back = [...points].reverse().map((point) => `L${px(xOf(point.subjects))} ${px(yOf(point.halfWidth))}`);
  const here = points.find(({ subjects }) => subjects === now);
  const twice = points.find(({ subjects }) => subjects === 2 * now);
  return (
    <section className="compare-precision">
      <div>
        <h2>{precisionWords.title}</h2>
        <p>{here !== undefined && twice !== undefined && precisionWords.statement(here, twice)}</p>
        <p className="quiet">{precisionWords.how}</p>
      </div>
      <div ref={ref}>
        {width > 0 && (
          <svg width={width} height={height} role="img" aria-label={precisionWords.picture}>
            {marksOf(highest, yOf).map((factor) => (
              <g key={factor}>
                <path className="compare-grid" d={`M${left} ${px(yOf(factor))}H${px(right)}`} />
                <text x={left - 6} y={yOf(factor) + 5} textAnchor="end">
                  {precisionWords.factor(factor)}
                </text>
              </g>
            ))}
            <path
              className="compare-precision-band"
              d={`${line(({ likelyHalfWidth }) => likelyHalfWidth)}${back.join('')}Z`}
            />
            <path className="compare-precision-line" d={line(({ halfWidth }) => halfWidth)} />
            {here !== undefined && (
              <>
                <path className="compare-precision-now" d={`M${px(xOf(now))} ${top}V${foot}`} />
                <circle cx={xOf(now)} cy={yOf(here.halfWidth)} r="5" />
              </>
            )}
            {[...new Set([first.subjects, now, 2 * now, last.subjects])].map((subjects) => (
              <text key={subjects} x={xOf(subjects)} y={foot + 18} textAnchor="middle">
                {subjects}
              </text>
            ))}
            <text x={right} y={foot + 36} textAnchor="end">
              {precisionWords.axis}
            </text>
          </svg>
        )}
      </div>
    </section>
  );
}

const factors = [10, 5, 3, 2, 1.5, 1.2, 1.1, 1.05, 1.02, 1.01];

/** Factors that are labelled, as far as they have room. */
function marksOf(highest: number, yOf: (factor: number) => number): number[] {
  let before = -Infinity;
  return factors.filter((factor) => {
    const y = yOf(factor);
    if (Math.log(factor) > highest || y - before < 18) return false;
    before = y;
    return true;
  });
}

/** For a crossed study only: where nobody wore two, the study shows no components. */
function curveOf({ summary }: StudyView): { readonly now: number; readonly points: readonly ContrastPower[] } | null {
  const components = summary.scopes[0]?.components;
  if (components?.known !== true) return null;
  const { subjects: now, ensembles, trialsPerCell, trialsAveraged } = components.figure;
  // As many trials as the means of this study are of: their scatter is then that of the study.
  const trials = Math.max(trialsPerCell, Math.ceil(trialsAveraged));
  const scatter = scatterOf(components.figure, trials);
  if ((scatter.interaction === 1 && scatter.trial === 1) || now > mostSubjects) return null;
  const planned = {
    ...{ scatter, design: 'crossed', trials, confidence: summary.questions.confidence } as const,
    ratios: (ensembles * (ensembles - 1)) / 2,
  };
  const most = Math.min(mostSubjects, Math.max(12, 3 * now));
  const step = Math.max(1, Math.round(most / 60));
  const counts = new Set([now, Math.min(most, 2 * now), most]);
  for (let count = Math.max(3, Math.floor(now / 4)); count < most; count += step) counts.add(count);
  const points = [...counts].filter((count) => count >= 3).sort((one, other) => one - other);
  // The ratio changes the chance of telling it only, and that is not drawn.
  return { now, points: points.map((count) => contrastPower(planned, 2, count)) };
}
