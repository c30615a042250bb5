import type { ReactElement } from 'react';
import { useMemo, useState } from 'react';
import type { ScatterAnswer } from '../../src/bridge/scatter.ts';
import { methodForRig } from '../../src/leakage/method-for-rig.ts';
import { probePorts } from '../../src/model/rig.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { Series } from '../../src/model/series.ts';
import { planRotation } from '../../src/series/rotation-plan.ts';
import { predictProbes } from '../../src/study/predict-series.ts';
import { FailureBlock } from '../ui/failure-block.tsx';
import { TextField } from '../ui/field.tsx';
import { ProbeMark } from '../ui/probe-mark.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { readNumber } from '../ui/read-number.ts';
import { seriesWords } from '../words/series.ts';
import type { SeriesTiming } from './series-timing.ts';

const words = seriesWords.promise;

/** What the series promises of each probe on the open rig, as far as it is known. */
export function PromisePanel(props: {
  readonly timing: SeriesTiming;
  readonly rig: Rig;
  /** What trials on this rig have shown; null: it is being read. */
  readonly scatter: Outcome<ScatterAnswer | null> | null;
}): ReactElement | null {
  const { rig, timing } = props;
  const answer = props.scatter?.done === true ? props.scatter.value : null;
  const scatter = answer?.shown ?? null;
  const { schedule, usable } = timing;
  const predicted = useMemo(
    () => (schedule === null ? [] : predictProbes(schedule, usable, rig, methodForRig(rig), scatter)),
    [schedule, usable, rig, scatter],
  );
  if (predicted.length === 0) return null;
  return (
    <section className="panel series-promise" aria-label={words.heading}>
      <h2>{words.heading}</h2>
      <table className="plan-table">
        <thead>
          <tr>
            <th scope="col">{words.probe}</th>
            <th scope="col" className="n">
              {words.least}
            </th>
            <th scope="col" className="n">
              {words.sum}
            </th>
            <th scope="col" className="n">
              {words.limit}
            </th>
            <th scope="col" className="n">
              {words.slice}
            </th>
          </tr>
        </thead>
        <tbody>
          {predicted.map((one) => (
            <tr key={one.probe}>
              <th scope="row">
                <ProbeMark probe={one.probe} size={15} /> {one.label}
                {one.exercisesUnseen > 0 && <span className="series-unseen">{words.unseen(one.exercisesUnseen)}</span>}
              </th>
              <td className="n">{seriesWords.seconds(one.leastUsableSeconds)}</td>
              <td className="n">{seriesWords.seconds(one.usableSeconds)}</td>
              <td className="n">{words.limitOf(one.detectionLimitPercent, one.breathed)}</td>
              <td className="n">{words.sliceOf(one.slice)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {props.scatter?.done === false && <FailureBlock failure={props.scatter.failure} />}
      {answer?.unread.map(({ failure, file, trial }) => (
        <p key={`${file} ${trial ?? ''}`}>{words.unread(trial === null ? file : `${trial} in ${file}`, failure)}</p>
      ))}
      {predicted.some(({ breathed }) => breathed) && <p className="quiet">{words.breathed}</p>}
      <p className="quiet">
        {props.scatter === null && words.reading}
        {props.scatter?.done === true &&
          (scatter === null
          ? words.unknown
          : words.from(scatter.createdAt, scatter.rigVersion, scatter.slice?.windowSeconds ?? null))}
      </p>
    </section>
  );
}

/** The row with which each of so many subjects begins, and the imbalance that is left. */
export function RotationPanel(props: { readonly series: Series; readonly rig: Rig }): ReactElement {
  const { rig, series } = props;
  const [subjects, setSubjects] = useState('6');
  const wanted = readNumber(subjects) ?? 0;
  const count = Number.isInteger(wanted) && wanted >= 1 && wanted <= mostSubjects ? wanted : null;
  const probes = probePorts(rig).map(({ probe }) => probe);
  const { exercises, order } = series;
  const repeated = exercises.some(({ dwellsPerProbe }) => dwellsPerProbe > 1);
  const question = JSON.stringify([probes, exercises.length, order.kind, order.forbidden, repeated, count]);
  const plan = useMemo(() => {
    const place = (probe: string): number => probes.indexOf(probe);
    const forbidden = order.forbidden.map(([before, after]) => [place(before), place(after)] as const);
    if (count === null || forbidden.some((pair) => pair.includes(-1))) return null;
    const request = { probeCount: probes.length, exerciseCount: exercises.length, kind: order.kind };
    return planRotation({ ...request, forbidden, repeated }, count);
    // The question stands for what it is made of: an equal one is no other one.
  }, [question]);
  return (
    <div className="series-rotation" role="group" aria-label={words.rotation}>
      <TextField
        label={words.subjects}
        kind="number"
        value={subjects}
        hint={words.subjectsHint(mostSubjects)}
        onChange={setSubjects}
      />
      {plan === null ? (
        <p>{words.noRotation}</p>
      ) : (
        <div className="grow" role="status">
          <p>{words.rows(plan.offsets)}</p>
          <p>{words.imbalance(plan.positions, plan.neighbours)}</p>
          <p className="quiet">{words.imbalanceText}</p>
        </div>
      )}
    </div>
  );
}

/** More subjects than in any study are not planned at once. */
const mostSubjects = 40;
