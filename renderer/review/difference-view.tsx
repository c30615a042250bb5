import type { ReactElement } from 'react';
import { useEffect, useState } from 'react';
import type { TrialResult } from '../../src/bridge/result.ts';
import type { AssessmentDifference, ValueDifference } from '../../src/leakage/difference.ts';
import { FailureBlock } from '../ui/failure-block.tsx';
import { ChoiceField } from '../ui/field.tsx';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { percentNumber } from '../words/numbers.ts';
import { flagName } from '../words/result.ts';
import { reviewWords as words } from '../words/review.ts';
import { significant } from '../words/numbers.ts';
import type { Place } from './result-view.ts';

export type AskDifference = (from: string, to: string) => Promise<Outcome<AssessmentDifference>>;

/** What two assessments of a trial differ by, and all of them, newest first. */
export function AssessmentsView(props: {
  readonly result: TrialResult;
  readonly difference: AskDifference;
  readonly onChoose: (place: Place) => void;
}): ReactElement {
  const { assessments } = props.result;
  const counting = props.result.assessment?.assessment;
  const newest = assessments.at(-1);
  const before = assessments.at(-2);
  return (
    <>
      <h3>{words.difference}</h3>
      {newest === undefined || before === undefined ? (
        <p className="quiet">{words.onlyOne}</p>
      ) : (
        <Difference {...props} key={newest.assessment} first={before.assessment} second={newest.assessment} />
      )}
      <h3>{words.list}</h3>
      <ol className="review-list" reversed>
        {[...assessments].reverse().map((one) => (
          <li key={one.assessment}>
            <b>
              {words.row(one.position, one.createdAt)}
              {one.assessment === counting && <span className="review-counts">{words.counts}</span>}
            </b>
            <span>{words.methodOf(one.methodName, one.methodVersion)}</span>
            <span>{one.review === null ? words.nobodyChose : words.by(one.review.person, one.review.reason)}</span>
            {one.leftOut.map((stretch, index) => (
              <span key={index}>
                {words.stretch(stretch)}: {words.took(stretch.readings, stretch.dwells.length)}
              </span>
            ))}
            <span>
              {one.overallPercent !== null && `${words.mean(percentNumber(one.overallPercent))}, `}
              {words.inDoubt(one.cellsFlagged, one.cells)}
            </span>
          </li>
        ))}
      </ol>
    </>
  );
}

function Difference(props: {
  readonly result: TrialResult;
  readonly difference: AskDifference;
  readonly onChoose: (place: Place) => void;
  readonly first: string;
  readonly second: string;
}): ReactElement {
  const { result } = props;
  const [from, setFrom] = useState(props.first);
  const [to, setTo] = useState(props.second);
  const [known, setKnown] = useState<{ readonly of: string; readonly outcome: Outcome<AssessmentDifference> } | null>(
    null,
  );
  const key = `${from} ${to}`;
  useEffect(() => {
    let wanted = true;
    void props.difference(from, to).then((outcome) => {
      if (wanted) setKnown({ of: key, outcome });
    });
    return () => {
      wanted = false;
    };
    // Two assessments never change: what is asked for is told by their names.
  }, [key]);
  const choices = result.assessments.map(({ assessment, position }) => ({
    value: assessment,
    text: words.numbered(position),
  }));
  return (
    <>
      <div className="review-pair">
        <ChoiceField label={words.before} value={from} choices={choices} onChange={setFrom} />
        <ChoiceField label={words.after} value={to} choices={choices} onChange={setTo} />
      </div>
      {known?.of !== key ? (
        <p className="quiet" role="status">
          {words.loading}
        </p>
      ) : known.outcome.done ? (
        <Found {...props} found={known.outcome.value} />
      ) : (
        <FailureBlock failure={known.outcome.failure} />
      )}
    </>
  );
}

function Found(props: {
  readonly result: TrialResult;
  readonly found: AssessmentDifference;
  readonly onChoose: (place: Place) => void;
}): ReactElement {
  const { found, result } = props;
  const label = (probe: string): string => result.rig.ports.find((port) => port.probe === probe)?.label ?? probe;
  const name = (exercise: string): string =>
    result.exercises.find((one) => one.exercise === exercise)?.name ?? exercise;
  const changed = found.cells.filter(({ same }) => !same);
  return (
    <>
      <p role="status">{words.changed(found.cellsChanged, found.cells.length)}</p>
      {found.exerciseIntervalsChanged > 0 && (
        <p>{words.wholeChanged(found.exerciseIntervalsChanged, found.cells.length)}</p>
      )}
      <ul className="review-what">
        {found.method.map(({ after, before, field }) => (
          <li key={field}>{words.field(field, String(before ?? words.none), String(after ?? words.none))}</li>
        ))}
        {found.leftOut.gained.map((one, index) => (
          <li key={`gained ${index}`}>{words.nowLeftOut(words.stretch(one), one.reason)}</li>
        ))}
        {found.leftOut.lost.map((one, index) => (
          <li key={`lost ${index}`}>{words.leftOutNoMore(words.stretch(one))}</li>
        ))}
      </ul>
      <table className="review-difference" aria-label={words.difference}>
        <thead>
          <tr>
            <th scope="col">{words.value}</th>
            <th scope="col" className="n">
              {words.beforePercent}
            </th>
            <th scope="col" className="n">
              {words.afterPercent}
            </th>
            <th scope="col" className="n">
              {words.change}
            </th>
            <th scope="col" className="n">
              {words.ofDoubt}
            </th>
          </tr>
        </thead>
        <tbody>
          <Row difference={found.overall} name={words.overall} />
          {found.probes
            .filter(({ same }) => !same)
            .map((one) => (
              <Row key={one.probe} difference={one} name={words.meanOf(label(one.probe))} />
            ))}
          {changed.map((one) => (
            <Row
              key={`${one.exercise}/${one.probe}`}
              difference={one}
              name={`${label(one.probe)}, ${name(one.exercise)}`}
              onPress={() => props.onChoose({ exercise: one.exercise, probe: one.probe })}
            />
          ))}
        </tbody>
      </table>
      <p className="quiet">{words.ofDoubtHint}</p>
    </>
  );
}

function Row(props: {
  readonly difference: ValueDifference;
  readonly name: string;
  readonly onPress?: () => void;
}): ReactElement {
  const { difference, name, onPress } = props;
  const { afterPercent, beforePercent, changePercent, flagsGained, flagsLost, ofStatedUncertainty } = difference;
  const flags = [
    ...flagsGained.map((flag) => `${words.gained} ${flagName(flag)}`),
    ...flagsLost.map((flag) => `${words.lost} ${flagName(flag)}`),
  ];
  return (
    <tr>
      <th scope="row">
        {onPress === undefined ? (
          name
        ) : (
          <button type="button" onClick={onPress}>
            {name}
          </button>
        )}
        {flags.length > 0 && (
          <small>
            {flagsGained.length > 0 && <FlagTriangle />}
            {flags.join(', ')}
          </small>
        )}
      </th>
      <td className="n">{beforePercent === null ? '–' : percentNumber(beforePercent)}</td>
      <td className="n">{afterPercent === null ? '–' : percentNumber(afterPercent)}</td>
      <td className="n">{changePercent === null ? '–' : `${signed(changePercent)}\u00a0%`}</td>
      <td className="n">{ofStatedUncertainty === null ? '–' : significant(ofStatedUncertainty, 2)}</td>
    </tr>
  );
}

function signed(value: number): string {
  if (value === 0) return '0';
  return `${value > 0 ? '+' : '−'}${significant(Math.abs(value), 2)}`;
}
