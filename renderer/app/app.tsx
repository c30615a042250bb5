import type { ReactElement } from 'react';
import { useEffect } from 'react';
import { useStore } from 'zustand';
import type { AlarmView, Snapshot } from '../../src/bridge/snapshot.ts';
import { keptPlan } from '../study/kept-plan.ts';
import { useAlarmSound } from '../trial/alarm-sound.ts';
import { RunningStrip } from '../trial/running-strip.tsx';
import { useTrialKeys } from '../trial/use-trial-keys.ts';
import { Button } from '../ui/button.tsx';
import { useFocusKept } from '../ui/use-focus-kept.ts';
import { appWords } from '../words/app.ts';
import type { Connection } from './connection.ts';
import { DesktopNotice } from './desktop-notice.tsx';
import { ErrorBoundary } from './error-boundary.tsx';
import { HostLost, RefusedWindow } from './host-lost.tsx';
import { PersonPlace, PlanPlace, ReplayPlace, ResultPlace, RigPlace, StartPlace } from './places.tsx';
import { StudyPlace, TrialPlace } from './places.tsx';
import { RegisterPlace } from './register-place.tsx';
import { SeriesPlace } from './series-place.tsx';
import { placeOf, routes, usePlace, type Place } from './routes.ts';
import { TitleBar } from './title-bar.tsx';
import './app.css';

const noAlarms: readonly AlarmView[] = [];

/** Everything in the window: the frame, and the screen that the address names. */
export function App({ connection }: { readonly connection: Connection }): ReactElement {
  const snapshot = useStore(connection.state, (state) => state.snapshot);
  const host = useStore(connection.state, (state) => state.host);
  const [address, go] = usePlace();
  const place = placeOf(address);
  useFocusKept();
  useTrialKeys(connection, snapshot);
  useAlarmSound(snapshot?.alarms ?? noAlarms);
  // Once a trial is prepared, here or in another window, its plan is no draft of the next one.
  const planning = (place.at === 'plan' || place.at === 'series') && snapshot?.trial == null;
  useEffect(() => {
    if (!planning) keptPlan.forget();
  }, [planning]);

  if (host === 'refused') return <RefusedWindow inTrial={maybeInside(snapshot)} />;
  const away = host === 'lost' || host === 'gone';
  const running = snapshot?.trial != null && place.at !== 'trial' && !ended(snapshot);
  return (
    <div
      className={`app app-${place.at}${running ? ' app-running' : ''}${away ? ' app-lost' : ''}`}
      data-snapshot={snapshot?.version}
    >
      {away && <HostLost gone={host === 'gone'} inTrial={maybeInside(snapshot)} />}
      <DesktopNotice />
      {snapshot === null ? (
        <p className="app-waiting" role="status">
          {host === 'connecting' ? appWords.opening : ''}
        </p>
      ) : (
        <>
          <TitleBar snapshot={snapshot} place={place} go={go} />
          {running && <RunningStrip connection={connection} trial={snapshot.trial} onOpen={() => go(routes.trial)} />}
          {/* A defect in one screen leaves the keys, the strip and the way to another screen alone. */}
          <ErrorBoundary key={keyOf(place)}>
            <Screen connection={connection} snapshot={snapshot} place={place} go={go} />
          </ErrorBoundary>
        </>
      )}
    </div>
  );
}

/** A trial that was stopped is closed while somebody may still be helped out: until it is sealed, look. */
function maybeInside(snapshot: Snapshot | null): boolean {
  return snapshot?.trial != null && snapshot.trial.ending !== 'done';
}

function ended(snapshot: Snapshot): boolean {
  return snapshot.trial?.phase === 'closed';
}

/** A screen for another study or trial begins anew. */
function keyOf(place: Place): string {
  if (place.at === 'result') return `${place.file}/${place.trial}`;
  return place.at === 'study' ? `study ${place.file}` : place.at;
}

function Screen(props: {
  readonly connection: Connection;
  readonly snapshot: Snapshot;
  readonly place: Place;
  readonly go: (to: string) => void;
}): ReactElement {
  const { place, ...rest } = props;
  switch (place.at) {
    case 'start':
      return <StartPlace {...rest} />;
    case 'person':
      return <PersonPlace {...rest} />;
    case 'rig':
      return <RigPlace {...rest} chosen={null} />;
    case 'check':
      return <RigPlace {...rest} chosen={place} />;
    case 'plan':
      return <PlanPlace {...rest} file={place.file} />;
    case 'series':
      return <SeriesPlace {...rest} />;
    case 'instruments':
      return <RegisterPlace {...rest} />;
    case 'study':
      return <StudyPlace {...rest} file={place.file} />;
    case 'trial':
      return <TrialPlace {...rest} />;
    case 'replay':
      return <ReplayPlace {...rest} />;
    case 'result':
      return <ResultPlace key={place.trial} {...rest} file={place.file} trial={place.trial} />;
    case 'nowhere':
      return (
        <main className="app-empty">
          <h1>{appWords.nowhere}</h1>
          <p>{appWords.nowhereMore}</p>
          <Button lit onPress={() => rest.go(routes.start)}>
            {appWords.toStart}
          </Button>
        </main>
      );
  }
}
