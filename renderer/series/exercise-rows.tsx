import type { KeyboardEvent, ReactElement } from 'react';
import { useEffect, useRef } from 'react';
import type { Rig } from '../../src/model/rig.ts';
import { DwellStrip } from '../study/dwell-strip.tsx';
import { Button } from '../ui/button.tsx';
import { seriesWords } from '../words/series.ts';
import type { SeriesChange, SeriesDraft } from './series-draft.ts';
import type { SeriesTiming } from './series-timing.ts';

/** The exercises in their order, the one in the form lit, and the hands that add, remove and move them. */
export function ExerciseRows(props: {
  readonly draft: SeriesDraft;
  /** Of the series as it was when it last could be timed. */
  readonly timing: SeriesTiming | null;
  readonly rig: Rig | null;
  /** Indices of exercises with a field that is wrong. */
  readonly wrong: ReadonlySet<number>;
  readonly onChange: (change: SeriesChange) => void;
}): ReactElement {
  const { draft, rig, timing } = props;
  const body = useRef<HTMLTableSectionElement>(null);
  // Who goes through the rows by keyboard stays on the one that is chosen.
  useEffect(() => {
    const rows = body.current;
    if (rows?.contains(document.activeElement) === true) rows.querySelectorAll('button')[draft.chosen]?.focus();
  }, [draft.chosen]);
  const labels = new Map(rig?.ports.map((port) => [port.probe, port.label]));
  const longest = Math.max(1, ...(timing?.exercises ?? []).map((one) => one.durationSeconds));
  const go = (event: KeyboardEvent, index: number): void => {
    const to = event.key === 'ArrowDown' ? index + 1 : event.key === 'ArrowUp' ? index - 1 : null;
    if (to === null || draft.exercises[to] === undefined) return;
    event.preventDefault();
    props.onChange({ change: 'choose', index: to });
  };
  return (
    <section className="panel series-exercises" aria-label={seriesWords.exercises}>
      <table className="plan-table">
        <thead>
          <tr>
            <th scope="col">{seriesWords.exercise}</th>
            <th scope="col" className="n">
              {seriesWords.rest}
            </th>
            <th scope="col" className="n">
              {seriesWords.length}
            </th>
            <th scope="col" className="plan-dwells">
              {seriesWords.dwells}
            </th>
          </tr>
        </thead>
        <tbody ref={body}>
          {draft.exercises.map((one, index) => {
            const timed = timing?.exercises[index];
            return (
              <tr key={one.key} className={index === draft.chosen ? 'series-here' : undefined}>
                <th scope="row">
                  <button
                    type="button"
                    className="series-row"
                    aria-current={index === draft.chosen ? 'true' : undefined}
                    onClick={() => props.onChange({ change: 'choose', index })}
                    onKeyDown={(event) => go(event, index)}
                  >
                    <span className="series-number">{index + 1}</span> {one.name}
                    {props.wrong.has(index) && <b className="series-wrong" aria-hidden="true" />}
                  </button>
                </th>
                <td className="n">{seriesWords.short(one.restSeconds)}</td>
                <td className="n">{seriesWords.short(one.durationSeconds)}</td>
                <td className="plan-dwells">
                  {timed?.exercise === one.exercise && timed.dwells.length > 0 && (
                    <DwellStrip of={timed} longestSeconds={longest} labels={labels} />
                  )}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
      <div className="row">
        <Button small hotkey="N" onPress={() => props.onChange({ change: 'add' })}>
          {seriesWords.add}
        </Button>
        <Button small hotkey="U" onPress={() => props.onChange({ change: 'duplicate' })}>
          {seriesWords.duplicate}
        </Button>
        <Button
          small
          hotkey="X"
          disabled={draft.exercises.length < 2}
          onPress={() => props.onChange({ change: 'remove' })}
        >
          {seriesWords.remove}
        </Button>
        {draft.removed.length > 0 && (
          <Button small hotkey="Z" onPress={() => props.onChange({ change: 'restore' })}>
            {seriesWords.restore(draft.removed.at(-1)?.exercise.name ?? '')}
          </Button>
        )}
        <Button
          small
          hotkey="["
          disabled={draft.chosen === 0}
          onPress={() => props.onChange({ change: 'move', by: -1 })}
        >
          {seriesWords.earlier}
        </Button>
        <Button
          small
          hotkey="]"
          disabled={draft.chosen === draft.exercises.length - 1}
          onPress={() => props.onChange({ change: 'move', by: 1 })}
        >
          {seriesWords.later}
        </Button>
      </div>
    </section>
  );
}
