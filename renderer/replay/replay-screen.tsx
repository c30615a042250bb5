import type { ReactElement } from 'react';
import type { ReplaySnapshot, Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import type { SampleChannel } from '../app/sample-channel.ts';
import { AlarmRow } from '../trial/alarm-row.tsx';
import { HostTimeProvider } from '../trial/host-time-context.ts';
import { Lanes } from '../trial/lanes.tsx';
import { NextBlock, NowBlock } from '../trial/now-block.tsx';
import { Side } from '../trial/side.tsx';
import { Timeline } from '../trial/timeline.tsx';
import { photometerStream } from '../trial/trial-view.ts';
import { replayWords } from '../words/replay.ts';
import { Transport, type ReplayActions } from './transport.tsx';
import '../trial/console.css';
import './replay.css';

/**
 * The console over a recorded trial: the same parts, fed with what they were fed with then. Everything that would act
 * on a trial is absent, and a band says what this is.
 */
export function ReplayScreen(props: {
  readonly samples: SampleChannel;
  readonly snapshot: Snapshot;
  readonly replay: ReplaySnapshot;
  readonly actions: ReplayActions;
}): ReactElement {
  const { replay, samples } = props;
  const { rig, view } = replay;
  const snapshot: Snapshot = { ...props.snapshot, trial: view, rig, alarms: replay.alarms, limitsWatched: 0 };
  const photometer = photometerStream(snapshot);
  return (
    <HostTimeProvider value={samples.time}>
      <main className="console replay" aria-label={replayWords.label}>
        <div className="replay-band">
          <h1 className="replay-title">{replayWords.notLive}</h1> {replayWords.notLiveMore}
        </div>
        {replay.alarms.length > 0 && <AlarmRow snapshot={snapshot} commands={null} />}
        <div className="now">
          <NowBlock trial={view} rig={rig.rig} heading="h2" />
          {view.phase === 'running' ? <NextBlock trial={view} /> : <Standing trial={view} />}
        </div>
        <div className="console-main">
          {rig.rig !== null && (
            <Lanes
              snapshot={snapshot}
              trial={view}
              rig={rig.rig}
              ring={photometer === null ? null : samples.ring(photometer)}
              oneAxis={false}
            />
          )}
          {/* Without alarms: red and amber would say that somebody has to act. */}
          <Side snapshot={{ ...snapshot, alarms: [] }} trial={view} ringOf={(stream) => samples.ring(stream)} />
        </div>
        <Timeline trial={view} />
        <Transport replay={replay} actions={props.actions} />
      </main>
    </HostTimeProvider>
  );
}

/** Where a live trial says how to go on: why it stood. */
function Standing({ trial }: { readonly trial: TrialSnapshot }): ReactElement {
  return (
    <section className="next-block panel">
      <div className="label">{trial.phase === 'closed' ? replayWords.ended : replayWords.stood}</div>
      <div className="next-more">{replayWords.standing(trial.reason ?? '')}</div>
    </section>
  );
}
