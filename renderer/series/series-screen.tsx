import type { ReactElement } from 'react';
import { useCallback, useEffect, useState } from 'react';
import type { ScatterAnswer } from '../../src/bridge/scatter.ts';
import type { Failure } from '../../src/bridge/snapshot.ts';
import { isChambersideError } from '../../src/model/error-code.ts';
import { probePorts } from '../../src/model/rig.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { Series } from '../../src/model/series.ts';
import { foldedName, parseSeries } from '../../src/series/own-series.ts';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { seriesWords } from '../words/series.ts';
import { seriesDraft } from './series-draft.ts';
import type { SeriesDraft } from './series-draft.ts';
import { SeriesEditor } from './series-editor.tsx';
import { SeriesList } from './series-list.tsx';
import type { OfferedSeries } from './series-list.tsx';
import '../study/plan.css';
import './series.css';

/** What the screen asks of the host and of the window. */
export interface SeriesActions {
  readonly list: () => Promise<Outcome<readonly OfferedSeries[]>>;
  readonly scatter: () => Promise<Outcome<ScatterAnswer | null>>;
  readonly save: (series: Series, newest: number) => Promise<Outcome<{ version: number }>>;
  readonly exportFile: (series: Series) => void;
  /** @param series that is to be planned; null: nothing was chosen. */
  readonly toPlan: (series: Series | null) => void;
}

/** Where series are begun, changed, exported and imported. */
export function SeriesScreen(props: { readonly rig: Rig | null; readonly actions: SeriesActions }): ReactElement {
  const { actions, rig } = props;
  const [offered, setOffered] = useState<Outcome<readonly OfferedSeries[]> | null>(null);
  const [begun, setBegun] = useState<SeriesDraft | null>(null);
  const [refusal, setRefusal] = useState<Failure | null>(null);
  const [shown, setShown] = useState<Outcome<ScatterAnswer | null> | null>(null);
  const { list, scatter } = actions;
  const load = useCallback(async () => {
    const fresh = await list();
    // What was read stays where it cannot be read again: somebody may be changing one.
    setOffered((before) => (fresh.done || before?.done !== true ? fresh : before));
  }, [list]);
  const rigName = rig === null ? null : `${rig.name} ${rig.version}`;
  // A scenario brings a series of its own.
  useEffect(() => {
    void load();
  }, [load, rigName]);
  useEffect(() => {
    let over = false;
    setShown(null);
    void scatter().then((answer) => {
      if (!over) setShown(answer);
    });
    return () => {
      over = true;
    };
  }, [scatter, rigName]);
  if (offered === null) return <p className="app-waiting">{seriesWords.reading}</p>;
  if (!offered.done) {
    return (
      <main className="series">
        <FailureBlock failure={offered.failure} />
      </main>
    );
  }
  const ofProgram = offered.value.filter(({ mark }) => mark !== null && mark !== 'scenario');
  const templates = new Set(ofProgram.map(({ series }) => foldedName(series.name)));
  const kept = offered.value.filter(({ mark }) => mark === null);
  if (begun !== null) {
    return (
      <main className="series">
        <SeriesEditor
          begin={begun}
          kept={new Map(kept.map(({ series }) => [series.name, series]))}
          templates={templates}
          rig={rig}
          scatter={shown}
          save={async (series, newest) => {
            const saved = await actions.save(series, newest);
            // A refusal may be about one that somebody else has kept.
            await load();
            return saved;
          }}
          onExport={actions.exportFile}
          onPlan={actions.toPlan}
          onBack={() => setBegun(null)}
        />
      </main>
    );
  }
  return (
    <main className="series series-choose">
      {refusal !== null && <FailureBlock failure={refusal} />}
      <SeriesList
        offered={offered.value}
        probes={rig === null ? 0 : probePorts(rig).length}
        onOpen={({ series }, asNew) => {
          setRefusal(null);
          const taken = offered.value.map((one) => one.series.name);
          const name = asNew ? freeName(seriesWords.ownName(series.name), taken) : series.name;
          setBegun(seriesDraft(series, name));
        }}
        onImport={(name, text) => {
          const read = readImported(name, text);
          if ('failure' in read) setRefusal(read.failure);
          else {
            setRefusal(null);
            setBegun(seriesDraft(read.series, read.series.name, true));
          }
        }}
        onPlan={() => actions.toPlan(null)}
      />
    </main>
  );
}

/** A series from a file, opened but not kept; or what is wrong with it, where, and what to do. */
function readImported(name: string, text: string): { readonly series: Series } | { readonly failure: Failure } {
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch (error) {
    const what = seriesWords.notJson(error instanceof Error ? error.message : String(error));
    return { failure: { code: 'configuration-invalid', what, where: name, remedy: seriesWords.notJsonRemedy } };
  }
  try {
    return { series: parseSeries(data, name) };
  } catch (error) {
    if (!isChambersideError(error)) throw error;
    const { code, remedy, what, where } = error;
    return { failure: { code, what, where, remedy } };
  }
}

function freeName(name: string, taken: readonly string[]): string {
  let free = name;
  for (let count = 2; taken.includes(free); count += 1) free = `${name} ${count}`;
  return free;
}
