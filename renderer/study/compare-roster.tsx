import { memo, useState, type ReactElement } from 'react';
import type { StudyView } from '../../src/bridge/study.ts';
import { Button } from '../ui/button.tsx';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import { ProbeMark } from '../ui/probe-mark.tsx';
import { studyWords } from '../words/study.ts';
import { dayOf } from '../words/times.ts';
import { whatIfWords } from '../words/what-if.ts';

type RosterRow = StudyView['summary']['roster'][number];

/** Rows that are drawn before somebody asks for all. */
const firstRows = 60;

/** Every trial of the study, also those in no figure; each opens its result. */
export const CompareRoster = memo(function CompareRoster(props: {
  readonly view: StudyView;
  /** Rows leave their trial out, or put it back, instead of opening it. */
  readonly isAsking: boolean;
  readonly chosen: string | null;
  readonly onChoose: (trial: string | null) => void;
  readonly onOpen: (trial: string) => void;
}): ReactElement {
  const { view, chosen } = props;
  const [isByLeakage, setByLeakage] = useState(false);
  const [isWhole, setWhole] = useState(false);
  const { roster } = view.summary;
  const rows = isByLeakage ? [...roster].sort((one, other) => order(other) - order(one)) : roster;
  const shown = isWhole ? rows : rows.slice(0, firstRows);
  return (
    <section className="panel compare-roster" aria-label={studyWords.roster}>
      <header>
        <h2>{studyWords.roster}</h2>
        <span className="quiet">{studyWords.unit}</span>
        <span className="grow" />
        <Button
          small
          hotkey="L"
          onPress={() => {
            setByLeakage(!isByLeakage);
          }}
        >
          {isByLeakage ? studyWords.byTime : studyWords.byLeakage}
        </Button>
      </header>
      <div className="compare-table-box">
        <table aria-label={studyWords.rosterLabel}>
          <thead>
            <tr>
              <th scope="col">{studyWords.subject}</th>
              <th scope="col">{studyWords.ensemble}</th>
              <th scope="col" className="n">
                {studyWords.whole}
              </th>
              {view.probes.map(({ probe, label }) => (
                <th scope="col" className="n" key={probe}>
                  <ProbeMark probe={probe} size={13} /> {label}
                </th>
              ))}
              <th scope="col">{studyWords.standing}</th>
            </tr>
          </thead>
          <tbody>
            {shown.map((row) => (
              <Row key={row.trial} row={row} probes={view.probes} isLit={row.trial === chosen} {...props} />
            ))}
          </tbody>
        </table>
        {shown.length < rows.length && (
          <Button
            onPress={() => {
              setWhole(true);
            }}
          >
            {studyWords.showAll(rows.length)}
          </Button>
        )}
      </div>
    </section>
  );
});

const Row = memo(
  function Row(props: {
    readonly row: RosterRow;
    readonly probes: StudyView['probes'];
    readonly isLit: boolean;
    readonly isAsking: boolean;
    readonly onChoose: (trial: string | null) => void;
    readonly onOpen: (trial: string) => void;
  }): ReactElement {
    const { row, probes, isLit, isAsking, onChoose, onOpen } = props;
    const isOut = row.leftOut === 'what-if';
    const canAnswer = !isAsking || isOut || row.leftOut === null;
    const { leaveOut, putBack } = whatIfWords;
    const what = !isAsking ? studyWords.open_ : isOut ? putBack : leaveOut;
    return (
      <tr
        className={[...(isLit ? ['lit'] : []), ...(isOut ? ['compare-out'] : [])].join(' ')}
        onPointerEnter={() => onChoose(row.trial)}
        onPointerLeave={() => onChoose(null)}
      >
        <th scope="row">
          <button
            type="button"
            aria-label={what(row.subject, row.ensemble)}
            disabled={!canAnswer}
            onFocus={() => onChoose(row.trial)}
            onBlur={() => onChoose(null)}
            onClick={() => onOpen(row.trial)}
          >
            {row.subject}
          </button>
        </th>
        <td>{row.ensemble}</td>
        <td className="n">
          <b>{studyWords.leakage(row.whole)}</b>
        </td>
        {probes.map(({ probe }) => (
          <td className="n" key={probe}>
            {studyWords.leakage(row.probes[probe] ?? null)}
          </td>
        ))}
        <td className="compare-standing">
          {row.voided !== null && <span className="flag">{studyWords.voided(row.voided)}</span>}
          {row.leftOut !== null && row.voided === null && (
            <span>{row.sealed ? studyWords.leftOut[row.leftOut] : studyWords.notSealed}</span>
          )}
          {row.cellsFlagged > 0 && (
            <span>
              <FlagTriangle />
              {studyWords.flaggedCells(row.cellsFlagged, row.cells)}
            </span>
          )}
          {row.leftOut === null && row.cellsMissing > 0 && <span>{studyWords.missingCells(row.cellsMissing)}</span>}
          {row.doubtfulChecks.length > 0 && (
            <span>
              <FlagTriangle />
              {studyWords.checks(row.doubtfulChecks)}
            </span>
          )}
          {row.review !== null && <span>{studyWords.reviewed(row.review)}</span>}
          {row.releasedBy !== null && <span>{studyWords.released(row.releasedBy)}</span>}
          {isPlain(row) && <span className="quiet">{dayOf(row.createdAt)}</span>}
        </td>
      </tr>
    );
  },
  (before, after) =>
    before.row === after.row &&
    before.isLit === after.isLit &&
    before.isAsking === after.isAsking &&
    before.onOpen === after.onOpen,
);

/** In the figures, and nothing to say about it. */
function isPlain({ leftOut, cellsFlagged, cellsMissing, doubtfulChecks, releasedBy, review }: RosterRow): boolean {
  const clean = leftOut === null && cellsFlagged + cellsMissing + doubtfulChecks.length === 0;
  return clean && review === null && releasedBy === null;
}

/** What is known only to be below its limit comes after what was read, what has no value last. */
function order({ whole }: RosterRow): number {
  return whole === null ? -2 : whole.below ? -1 : whole.percent;
}
