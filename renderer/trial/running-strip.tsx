import { useMemo, type ReactElement } from 'react';
import type { Connection } from '../app/connection.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { Key } from '../ui/key.tsx';
import { alarmWords } from '../words/alarms.ts';
import { appWords } from '../words/app.ts';
import { trialWords } from '../words/trial.ts';
import { alarmsInRow } from './alarm-order.ts';
import { trialCommands } from './commands.ts';
import { HostTimeProvider } from './host-time-context.ts';
import { Ticking } from './ticking.tsx';
import { countdownText, headlineOf, heartRateStream } from './trial-view.ts';

/** What must not be lost from sight on another screen while a trial is under way. */
export function RunningStrip(props: {
  readonly connection: Connection;
  readonly trial: TrialSnapshot | null;
  readonly onOpen: () => void;
}): ReactElement | null {
  const { connection, trial } = props;
  const commands = useMemo(
    () =>
      trialCommands(
        connection,
        () => connection.state.getState().snapshot,
        () => connection.samples.time.at(performance.now()),
      ),
    [connection],
  );
  const snapshot = connection.state.getState().snapshot;
  if (trial === null || snapshot === null) return null;
  const { title } = headlineOf(trial);
  const until = trial.now.untilMicroseconds;
  const belt = heartRateStream(snapshot);
  const [alarm] = alarmsInRow(snapshot.alarms);
  return (
    <HostTimeProvider value={connection.samples.time}>
      <section className="strip" aria-label={appWords.trial}>
        <button type="button" className="strip-open" onClick={props.onOpen}>
          {title}
        </button>
        {until !== null && <Ticking className="strip-left" text={(at) => countdownText(until, at)} />}
        {belt !== null && (
          <span className="strip-heart">
            {trialWords.heartRate}{' '}
            <Ticking
              text={(at) => {
                const ring = connection.samples.ring(belt);
                const newest = ring.newestMicroseconds;
                const young = newest !== null && at - newest < 5_000_000;
                return young ? (ring.newestValue ?? 0).toFixed(0) : '–';
              }}
            />
          </span>
        )}
        {alarm !== undefined && (
          <span className={`strip-alarm strip-${alarm.priority}`} role="alert">
            {alarmWords.headline(alarm)}
            {!alarm.acknowledged && (
              <button
                type="button"
                onClick={() => commands.acknowledge(alarm.alarm, alarm.instrument, alarmWords.reasons[0])}
              >
                <Key>A</Key> {alarmWords.acknowledge}
              </button>
            )}
          </span>
        )}
        <span className="bar-space" />
        <button
          type="button"
          className="hand hand-first"
          disabled={!trial.allowed.includes('hold')}
          onClick={() => commands.send('hold')}
        >
          <Key>Space</Key> {trialWords.hold}
        </button>
        <button type="button" className="stop" disabled={!trial.allowed.includes('stop')} onClick={commands.stop}>
          <Key>End</Key> {trialWords.stop}
        </button>
      </section>
    </HostTimeProvider>
  );
}
