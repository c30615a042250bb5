import type { ReactElement } from 'react';
import { seriesWords } from '../words/series.ts';
import type { SeriesTiming } from './series-timing.ts';

/** The whole series to one scale of time; the exercise in the form is lit. */
export function SeriesLine(props: {
  readonly timing: SeriesTiming;
  readonly chosen: number;
  readonly onChoose: (exercise: number) => void;
}): ReactElement {
  const { timing } = props;
  return (
    <section className="panel series-line" aria-label={seriesWords.line}>
      <p className="spoken">{seriesWords.lineText(timing.totalSeconds)}</p>
      <ol aria-hidden="true">
        {timing.line.map(({ exercise, kind, seconds }, index) => (
          <li
            key={index}
            className={`series-${kind}${kind === 'exercise' && exercise === props.chosen ? ' series-chosen' : ''}`}
            style={{ flexGrow: seconds }}
            onClick={() => {
              if (exercise !== null) props.onChoose(exercise);
            }}
          >
            {kind === 'exercise' ? (exercise ?? 0) + 1 : ''}
            {(kind === 'before' || kind === 'entry' || kind === 'after') && <span>{seriesWords[kind]}</span>}
          </li>
        ))}
      </ol>
    </section>
  );
}
