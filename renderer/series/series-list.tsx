import type { ReactElement } from 'react';
import { useRef } from 'react';
import type { Series } from '../../src/model/series.ts';
import { nominalSeconds } from '../../src/series/timetable.ts';
import { Button } from '../ui/button.tsx';
import { seriesWords } from '../words/series.ts';

/** A series whole, and what it rests on; null: the laboratory's own. */
export interface OfferedSeries {
  readonly series: Series;
  readonly mark: 'own' | 'secondary' | 'memory' | 'scenario' | null;
}

/** The series that are there: to begin one from, or to change. */
export function SeriesList(props: {
  readonly offered: readonly OfferedSeries[];
  /** Probes of the open rig. */
  readonly probes: number;
  readonly onOpen: (offered: OfferedSeries, asNew: boolean) => void;
  readonly onImport: (name: string, text: string) => void;
  readonly onPlan: () => void;
}): ReactElement {
  const { offered } = props;
  const file = useRef<HTMLInputElement>(null);
  const kept = offered.filter(({ mark }) => mark === null);
  const row = (one: OfferedSeries, lit: boolean): ReactElement => {
    const { exercises, name, source, version } = one.series;
    return (
      <li key={name}>
        <div className="grow">
          <h3>{name}</h3>
          <p className="quiet">
            {seriesWords.row(version, exercises.length, nominalSeconds(one.series, props.probes))}
            {one.mark !== null && <span className="series-mark">{seriesWords.marks[one.mark]}</span>}
          </p>
          <p className="series-source">{source}</p>
        </div>
        <div className="series-do">
          {one.mark === null && (
            <Button lit={lit} label={`${seriesWords.edit}: ${name}`} onPress={() => props.onOpen(one, false)}>
              {seriesWords.edit}
            </Button>
          )}
          <Button
            lit={lit && one.mark !== null}
            label={`${one.mark === null ? seriesWords.copy : seriesWords.fromTemplate}: ${name}`}
            onPress={() => props.onOpen(one, true)}
          >
            {one.mark === null ? seriesWords.copy : seriesWords.fromTemplate}
          </Button>
        </div>
      </li>
    );
  };
  return (
    <>
      <section className="panel series-head">
        <div className="grow">
          <h1>{seriesWords.title}</h1>
          <p className="quiet">{seriesWords.lead}</p>
        </div>
        <input
          ref={file}
          className="spoken"
          type="file"
          accept=".json,application/json"
          tabIndex={-1}
          aria-label={seriesWords.importFile}
          onChange={(event) => {
            const [chosen] = event.target.files ?? [];
            event.target.value = '';
            if (chosen !== undefined) void chosen.text().then((text) => props.onImport(chosen.name, text));
          }}
        />
        <Button hotkey="I" onPress={() => file.current?.click()}>
          {seriesWords.importFile}
        </Button>
        <Button hotkey="P" onPress={props.onPlan}>
          {seriesWords.toPlan}
        </Button>
      </section>
      <div className="series-lists">
        <section className="panel" aria-label={seriesWords.laboratory}>
          <h2>{seriesWords.laboratory}</h2>
          <p className="quiet">{kept.length === 0 ? seriesWords.laboratoryNone : seriesWords.laboratoryText}</p>
          <ul>{kept.map((one, index) => row(one, index === 0))}</ul>
        </section>
        <section className="panel" aria-label={seriesWords.program}>
          <h2>{seriesWords.program}</h2>
          <p className="quiet">{seriesWords.programText}</p>
          <ul>
            {offered
              .filter(({ mark }) => mark !== null)
              .map((one, index) => row(one, index === 0 && kept.length === 0))}
          </ul>
        </section>
      </div>
    </>
  );
}
