import { useMemo, type ReactElement } from 'react';
import { useStore } from 'zustand';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import type { Connection } from '../app/connection.ts';
import { Button } from '../ui/button.tsx';
import { repeatWords } from '../words/repeat.ts';
import { trialWords } from '../words/trial.ts';
import { After } from './after.tsx';
import { AlarmRow } from './alarm-row.tsx';
import { Before } from './before.tsx';
import { trialCommands } from './commands.ts';
import { consoleState } from './console-state.ts';
import { ConsolePanel, Hands } from './hands.tsx';
import { HostTimeProvider } from './host-time-context.ts';
import { Lanes } from './lanes.tsx';
import { NextBlock, NowBlock } from './now-block.tsx';
import { Side } from './side.tsx';
import { Timeline } from './timeline.tsx';
import { photometerStream } from './trial-view.ts';
import './console.css';

/** The operator's screen while a trial is under way. Readable from two metres; nothing moves when an alarm comes. */
export function Console(props: {
  readonly connection: Connection;
  readonly snapshot: Snapshot;
  readonly trial: TrialSnapshot;
  readonly onResult: () => void;
  readonly onLeave: () => void;
}): ReactElement {
  const { connection, snapshot, trial } = props;
  const { samples } = connection;
  const oneAxis = useStore(consoleState, (state) => state.oneAxis);
  const commands = useMemo(
    () =>
      trialCommands(
        connection,
        () => connection.state.getState().snapshot,
        () => samples.time.at(performance.now()),
      ),
    [connection, samples],
  );
  const { rig } = snapshot.rig;
  const photometer = photometerStream(snapshot);
  return (
    <HostTimeProvider value={samples.time}>
      <main className="console">
        <AlarmRow snapshot={snapshot} commands={commands} />
        <div className="now">
          <NowBlock trial={trial} rig={rig} />
          {trial.ending === 'no' ? (
            <NextBlock trial={trial} nobody={snapshot.person === null} commands={commands} />
          ) : (
            <Ending trial={trial} onResult={props.onResult} onLeave={props.onLeave} />
          )}
        </div>
        <div className="console-main">
          {rig !== null && trial.before.length > 0 && trial.ending === 'no' ? (
            <Before trial={trial} commands={commands} />
          ) : rig !== null && trial.after.length > 0 ? (
            <After trial={trial} commands={commands} />
          ) : rig !== null && (
            <Lanes
              snapshot={snapshot}
              trial={trial}
              rig={rig}
              ring={photometer === null ? null : samples.ring(photometer)}
              oneAxis={oneAxis}
            />
          )}
          <ConsolePanel snapshot={snapshot} trial={trial} commands={commands} />
          <Side snapshot={snapshot} trial={trial} ringOf={(stream) => samples.ring(stream)} />
        </div>
        <Timeline trial={trial} />
        <Hands snapshot={snapshot} trial={trial} commands={commands} />
      </main>
    </HostTimeProvider>
  );
}

/** The trial is over: what is being done with it, and where to go. */
function Ending(props: {
  readonly trial: TrialSnapshot;
  readonly onResult: () => void;
  readonly onLeave: () => void;
}): ReactElement {
  const { ending, endingFailure, notes } = props.trial;
  return (
    <section className="next-block panel" role="status">
      {ending === 'done' && (
        <>
          <div className="ending-title">{trialWords.endedTitle}</div>
          <div className="console-panel-row">
            <Button lit onPress={props.onResult}>
              {trialWords.toResult}
            </Button>
            <Button onPress={props.onLeave}>{trialWords.leave}</Button>
          </div>
          {notes.some(({ kind }) => kind === 'stop') && <p className="next-more">{repeatWords.byMistake}</p>}
        </>
      )}
      {ending === 'failed' && (
        <>
          <div className="ending-title">{trialWords.endingFailed}</div>
          <p>
            {endingFailure} {trialWords.endingFailedMore}
          </p>
          <Button onPress={props.onLeave}>{trialWords.leave}</Button>
        </>
      )}
      {(ending === 'sealing' || ending === 'assessing') && (
        <>
          <div className="ending-title">{ending === 'sealing' ? trialWords.closing : trialWords.assessing}</div>
          <progress max={2} value={ending === 'sealing' ? 1 : 2} aria-label={trialWords.closing} />
        </>
      )}
    </section>
  );
}
