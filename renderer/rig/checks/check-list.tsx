import type { ReactElement } from 'react';
import type { RigState } from '../../../src/bridge/snapshot.ts';
import type { CheckStanding } from '../../../src/calibration/check/standing.ts';
import { Button } from '../../ui/button.tsx';
import { FailureBlock } from '../../ui/failure-block.tsx';
import { Icon } from '../../ui/icon.tsx';
import { checkWords } from '../../words/checks.ts';
import type { CheckRow, Chosen } from './desk-state.ts';
import { mainFigure, nextDue, rowsOf } from './desk-state.ts';
import { DueBar } from './due-bar.tsx';
import './checks.css';

/** Everything that can be checked of the rig: verdict, result beside its limit, and when it falls due. */
export function CheckList(props: {
  readonly standings: readonly CheckStanding[];
  readonly checks: RigState['checks'];
  /** Version of the rig that is open. */
  readonly version: number;
  readonly now: number;
  readonly onOpen: (chosen: Chosen) => void;
}): ReactElement {
  const { checks, standings } = props;
  const due = nextDue(standings);
  const count = (...of: readonly CheckStanding['standing'][]): number =>
    standings.filter(({ standing }) => of.includes(standing)).length;
  return (
    <section className="panel checks" tabIndex={0} aria-label={checkWords.title}>
      <header className="checks-head">
        <h2>{checkWords.title}</h2>
        {due !== null && (
          <Button
            small
            lit={checks.running === null}
            hotkey="K"
            onPress={() => {
              props.onOpen(due);
            }}
          >
            {checkWords.runDue}
          </Button>
        )}
      </header>
      <ul className="checks-counts">
        <Count of={count('overdue', 'failed')} words={checkWords.overdue} />
        <Count of={count('due-soon')} words={checkWords.dueSoon} />
        <Count of={count('valid')} words={checkWords.valid} />
        <Count of={count('never')} words={checkWords.never} />
      </ul>
      {checks.failure !== null && <FailureBlock failure={checks.failure} />}
      <ul className="checks-rows">
        {rowsOf(standings).map((row) => (
          <li key={row.check}>
            <Row
              row={row}
              running={checks.running?.check === row.check}
              version={props.version}
              now={props.now}
              onOpen={props.onOpen}
            />
          </li>
        ))}
      </ul>
      <p className="quiet checks-bars">{checkWords.bars}</p>
    </section>
  );
}

function Count({ of, words }: { readonly of: number; readonly words: string }): ReactElement {
  return (
    <li>
      <b>{of}</b>
      <span>{words}</span>
    </li>
  );
}

function Row(props: {
  readonly row: CheckRow;
  readonly running: boolean;
  readonly version: number;
  readonly now: number;
  readonly onOpen: (chosen: Chosen) => void;
}): ReactElement {
  const { check, lines, worst } = props.row;
  const { newest } = worst;
  const figure = newest === null ? null : mainFigure(newest.result.figures);
  const done = lines.filter(({ standing }) => standing === 'valid' || standing === 'due-soon').length;
  return (
    <button
      type="button"
      className={props.running ? 'check-row check-row-running' : 'check-row'}
      onClick={() => {
        props.onOpen(worst);
      }}
    >
      <b>{checkWords.name(check)}</b>
      {props.running ? <span className="verdict">{checkWords.running}</span> : <Verdict standing={worst.standing} />}
      <span className="check-row-figure">
        {figure === null ? checkWords.text(check) : checkWords.value(figure.value, figure.unit)}
      </span>
      {figure !== null && (
        <>
          <span className="quiet check-row-limit">
            {lines.length > 1
              ? checkWords.some(done, lines.length)
              : checkWords.limit(figure.low, figure.high)}
          </span>
          <DueBar standing={worst} now={props.now} />
          <span className="quiet check-row-due">
            {newest !== null && newest.version !== props.version
              ? checkWords.earlierVersion(newest.version)
              : worst.dueAt !== null && checkWords.due(worst.dueAt)}
          </span>
        </>
      )}
    </button>
  );
}

/** How a check stands, with an icon that does not need colour. */
export function Verdict({ standing }: { readonly standing: CheckStanding['standing'] }): ReactElement {
  if (standing === 'valid') {
    return (
      <span className="verdict">
        <Icon name="tick" />
        {checkWords.standing(standing)}
      </span>
    );
  }
  if (standing === 'never') return <span className="quiet">{checkWords.standing(standing)}</span>;
  return (
    <span className="flag">
      {standing === 'failed' && <Icon name="cross" />}
      {checkWords.standing(standing)}
    </span>
  );
}
