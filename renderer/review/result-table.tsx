import type { KeyboardEvent, ReactElement } from 'react';
import { useEffect, useRef } from 'react';
import type { ResultCell } from '../../src/bridge/result.ts';
import { ProbeMark } from '../ui/probe-mark.tsx';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import { limitNumber, percentNumber } from '../words/numbers.ts';
import { flagName, resultWords } from '../words/result.ts';
import type { Mean, Place, ResultTable, Step } from './result-view.ts';
import { placeAfter, placeKey } from './result-view.ts';

const steps: Readonly<Record<string, Step>> = {
  ArrowLeft: 'left',
  ArrowRight: 'right',
  ArrowUp: 'up',
  ArrowDown: 'down',
};

/** Probes in body order down, exercises in time order to the right. One cell is lit, as in panel and trace. */
export function ResultTableView(props: {
  readonly table: ResultTable;
  readonly chosen: Place | null;
  readonly onChoose: (place: Place) => void;
}): ReactElement {
  const { table, chosen, onChoose } = props;
  const grid = useRef<HTMLTableElement>(null);
  const moved = useRef(false);
  const key = chosen === null ? null : placeKey(chosen);
  useEffect(() => {
    // Only after an arrow key: choosing by the next flag or by the pointer leaves the focus where it is.
    if (!moved.current || key === null) return;
    moved.current = false;
    grid.current?.querySelector<HTMLButtonElement>(`[data-place="${key}"]`)?.focus();
  }, [key]);
  const onKeyDown = (event: KeyboardEvent): void => {
    const step = steps[event.key];
    if (step === undefined || chosen === null) return;
    event.preventDefault();
    moved.current = true;
    onChoose(placeAfter(table, chosen, step));
  };
  return (
    <table className="result-table" ref={grid} aria-label={resultWords.tableLabel} onKeyDown={onKeyDown}>
      <thead>
        <tr>
          <th scope="col">{resultWords.table}</th>
          {table.exercises.map(({ exercise, name }, index) => (
            <th scope="col" key={exercise} className={exercise === chosen?.exercise ? 'n on' : 'n'}>
              {index + 1} {name}
            </th>
          ))}
          <th scope="col" className="n result-mean">
            {resultWords.trial}
          </th>
        </tr>
      </thead>
      <tbody>
        {table.rows.map(({ port, cells, mean }) => (
          <tr key={port.port}>
            <th scope="row">
              <span className="result-probe">
                <ProbeMark probe={port.probe} size={18} />
                {port.label}
              </span>
            </th>
            {table.exercises.map(({ exercise }, column) => {
              const place = { probe: port.probe, exercise };
              const lit = placeKey(place) === key;
              return (
                <td key={exercise} className={lit ? 'n lit' : 'n'}>
                  <button
                    type="button"
                    data-place={placeKey(place)}
                    tabIndex={lit || (key === null && column === 0) ? 0 : -1}
                    aria-pressed={lit}
                    onClick={() => {
                      onChoose(place);
                    }}
                  >
                    <CellText cell={cells[column] ?? null} />
                  </button>
                </td>
              );
            })}
            <MeanCell mean={mean} />
          </tr>
        ))}
      </tbody>
      <tfoot>
        <tr>
          <th scope="row">{resultWords.allProbes}</th>
          {table.exercises.map(({ exercise, mean }) => (
            <MeanCell key={exercise} mean={mean} />
          ))}
          <MeanCell mean={table.overall} />
        </tr>
      </tfoot>
    </table>
  );
}

/** The value with its doubt; why there is none where there is none. */
function CellText({ cell }: { readonly cell: ResultCell | null }): ReactElement {
  if (cell === null) return <span className="no-result">{resultWords.notAssessed}</span>;
  const missing = cell.windowPercent === null;
  const limit = cell.detectionLimitPercent;
  const reason = cell.flags.filter((flag) => flag !== 'below-detection-limit').map(flagName);
  return (
    <>
      {cell.flagged && <FlagTriangle />}
      {missing ? (
        <span className="no-result">{resultWords.noResult}</span>
      ) : cell.belowDetectionLimit && limit !== null ? (
        `< ${limitNumber(limit, 2)}`
      ) : (
        percentNumber(cell.windowPercent ?? 0)
      )}
      {(cell.flagged || missing) && <span className="cell-reason">{resultWords.firstOf(reason)}</span>}
    </>
  );
}

function MeanCell({ mean }: { readonly mean: Mean | null }): ReactElement {
  const notes = mean === null ? [] : resultWords.meanNotes(mean.cellsFlagged, mean.cellsMissing);
  return (
    <td className="n result-mean">
      <b>{mean?.windowPercent == null ? '–' : percentNumber(mean.windowPercent)}</b>
      {notes.map((note) => (
        <span key={note} className="mean-note">
          {note}
        </span>
      ))}
    </td>
  );
}
