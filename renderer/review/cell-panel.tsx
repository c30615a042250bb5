import type { ReactElement, ReactNode } from 'react';
import type { CellExplanation, ResultCell, TrialResult } from '../../src/bridge/result.ts';
import type { Flag } from '../../src/leakage/flag.ts';
import { flagMeanings } from '../../src/leakage/flag.ts';
import { toFigures } from '../../src/leakage/explain-digits.ts';
import type { Explanation } from '../../src/leakage/explanation.ts';
import { units } from '../../src/model/unit.ts';
import { ProbeMark } from '../ui/probe-mark.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { explainWords } from '../words/explain.ts';
import { limitNumber, percentNumber } from '../words/numbers.ts';
import { flagName, resultWords } from '../words/result.ts';
import { trialTime } from '../words/times.ts';
import { ExplainPanel } from './explain-panel.tsx';
import type { Mean, Place, ResultTable } from './result-view.ts';
import { cellAt } from './result-view.ts';
import { useExplanation } from './use-explanation.ts';

/** One cell explained: its value, both intervals, its windows, and what is to be said against it. */
export function CellPanel(props: {
  readonly result: TrialResult;
  readonly table: ResultTable;
  readonly place: Place;
  readonly explain: (place: Place) => Promise<Outcome<CellExplanation>>;
}): ReactElement {
  const { table, place } = props;
  const outcome = useExplanation(place, props.explain);
  const cell = cellAt(table, place);
  const row = table.rows.find(({ port }) => port.probe === place.probe);
  const exercise = table.exercises.find((one) => one.exercise === place.exercise);
  const missing = cell?.windowPercent == null;
  return (
    <section className="panel cell-panel" tabIndex={0} aria-label={`${row?.port.label ?? ''}, ${exercise?.name ?? ''}`}>
      <h2>
        <ProbeMark probe={place.probe} size={22} />
        {row?.port.label}, {exercise?.name.toLowerCase()}
      </h2>
      <p className="cell-figure">
        {missing ? (
          <span className="no-result">{resultWords.noResult}</span>
        ) : (
          <>
            {shown(cell)}
            <small> %</small>
          </>
        )}
      </p>
      {cell !== null && !missing && (
        <dl className="cell-facts">
          <Fact name={resultWords.airSeen} note={cell.withoutInterval.join(' ') || null}>
            {interval(cell.windowLowPercent, cell.windowHighPercent)}
          </Fact>
          <Fact
            name={resultWords.wholeExercise}
            note={
              cell.exerciseLowPercent === null && cell.windowLowPercent !== null ? resultWords.noSlices : null
            }
          >
            {interval(cell.exerciseLowPercent, cell.exerciseHighPercent)}
          </Fact>
          <Fact
            name={resultWords.detectionLimit}
            note={
              cell.belowDetectionLimit
                ? `${percentNumber(cell.windowPercent ?? 0)}\u00a0%, ${resultWords.belowLimit}`
                : null
            }
          >
            {cell.detectionLimitPercent === null ? '–' : `${limitNumber(cell.detectionLimitPercent, 2)} %`}
          </Fact>
          {cell.windows.map(({ dwell, fromMicroseconds, toMicroseconds }) => (
            <Fact key={`${dwell} ${fromMicroseconds}`} name={resultWords.windows}>
              {resultWords.window(trialTime(fromMicroseconds), trialTime(toMicroseconds))}
            </Fact>
          ))}
        </dl>
      )}
      <h3>{missing ? resultWords.why : resultWords.flags}</h3>
      <Flags
        flags={cell?.flags ?? []}
        missing={missing}
        explanation={outcome?.done === true ? outcome.value.explanation : null}
      />
      <ExplainPanel outcome={outcome} />
      <dl className="cell-means">
        <MeanFact name={row?.port.label ?? ''} mean={row?.mean ?? null} />
        <MeanFact name={exercise?.name ?? ''} mean={exercise?.mean ?? null} />
        <MeanFact name={resultWords.trial} mean={table.overall} />
      </dl>
    </section>
  );
}

function shown(cell: ResultCell): string {
  return cell.belowDetectionLimit && cell.detectionLimitPercent !== null
    ? `< ${limitNumber(cell.detectionLimitPercent, 2)}`
    : percentNumber(cell.windowPercent ?? 0);
}

/** No leakage is below zero: the interval is cut there for the eye, while the numbers keep their sign. */
function interval(low: number | null, high: number | null): string {
  if (low === null || high === null) return '–';
  return `${resultWords.interval(percentNumber(Math.max(0, low)), percentNumber(Math.max(0, high)))} %`;
}

/** Each flag with what it means: a name alone explains nothing. */
function Flags(props: {
  readonly flags: readonly string[];
  readonly missing: boolean;
  readonly explanation: Explanation | null;
}): ReactElement {
  const { flags, missing, explanation } = props;
  if (flags.length === 0) {
    return <p className="quiet">{missing ? resultWords.noReason : resultWords.noFlagsHere}</p>;
  }
  return (
    <ul className="cell-flags">
      {flags.map((flag) => (
        <li key={flag}>
          <span className={flag === 'below-detection-limit' ? 'flag flag-calm' : 'flag'}>{flagName(flag)}</span>
          {isFlag(flag) && <p>{flagMeanings[flag]}</p>}
          {explanation !== null && <Causes flag={flag} explanation={explanation} />}
        </li>
      ))}
    </ul>
  );
}

/** What raised a flag, with the figure and the limit it was held against. */
function Causes(props: { readonly explanation: Explanation; readonly flag: string }): ReactElement | null {
  const { explanation, flag } = props;
  const unitOf = { reading: units[explanation.readingUnit].symbol, percent: '%', seconds: 's' };
  const written = (value: number): string =>
    Number.isInteger(value) ? String(value).replace('-', '−') : toFigures(value, 4).replace('-', '−');
  const causes = explanation.doubts.filter((doubt) => doubt.flag === flag);
  if (causes.length === 0) return null;
  return (
    <ul className="cell-causes" aria-label={explainWords.raised}>
      {causes.map(({ dwell, figure, found }, index) => (
        <li key={index}>
          {explainWords.cause(dwell, found)}
          {figure !== null &&
            `: ${explainWords.figure(
              written(figure.value),
              figure.limit === null ? null : written(figure.limit),
              figure.unit in unitOf ? unitOf[figure.unit as keyof typeof unitOf] : figure.unit,
            )}`}
        </li>
      ))}
    </ul>
  );
}

function isFlag(flag: string): flag is Flag {
  return Object.hasOwn(flagMeanings, flag);
}

function Fact(props: {
  readonly name: string;
  readonly note?: string | null;
  readonly children: ReactNode;
}): ReactElement {
  const { note = null } = props;
  return (
    <div>
      <dt>{props.name}</dt>
      <dd>{props.children}</dd>
      {note !== null && <dd className="cell-note">{note}</dd>}
    </div>
  );
}

function MeanFact({ name, mean }: { readonly name: string; readonly mean: Mean | null }): ReactElement {
  const notes = mean === null ? [] : resultWords.meanNotes(mean.cellsFlagged, mean.cellsMissing);
  return (
    <div>
      <dt>{name}</dt>
      <dd>
        <b>{mean?.windowPercent == null ? '–' : `${percentNumber(mean.windowPercent)} %`}</b>
        {mean?.windowLowPercent != null && <span>{interval(mean.windowLowPercent, mean.windowHighPercent)}</span>}
        <span>{[resultWords.meanOf(mean?.cells ?? 0), ...notes].join(', ')}</span>
      </dd>
    </div>
  );
}
