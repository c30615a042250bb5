import { useMemo, type ReactElement } from 'react';
import { SeriesScreen } from '../series/series-screen.tsx';
import type { SeriesActions } from '../series/series-screen.tsx';
import { keptPlan } from '../study/kept-plan.ts';
import { seriesKey } from '../study/plan-draft.ts';
import type { PlaceProps } from './places.tsx';
import { saveFile } from './receive-report.ts';
import { routes } from './routes.ts';

/** The series screen, joined to the host. */
export function SeriesPlace({ connection, snapshot, go }: PlaceProps): ReactElement {
  const actions = useMemo<SeriesActions>(
    () => ({
      list: () => connection.ask((client) => client.series.list({})),
      scatter: () => connection.ask((client) => client.series.scatter({})),
      save: (series, newest) => connection.ask((client) => client.series.save({ series, newest })),
      exportFile(series) {
        const name = `${series.name.replace(/[^\p{L}\p{N}]+/gu, '-')}-${series.version}.series.json`;
        saveFile(name, new Blob([`${JSON.stringify(series, null, 2)}\n`], { type: 'application/json' }));
      },
      toPlan(series) {
        if (series !== null) keptPlan.choose(seriesKey(series));
        go(routes.plan(null));
      },
    }),
    [connection, go],
  );
  return <SeriesScreen rig={snapshot.rig.rig} actions={actions} />;
}
