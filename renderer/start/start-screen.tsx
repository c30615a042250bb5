import type { ReactElement } from 'react';
import { useState } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import { startWords } from '../words/start.ts';
import { FirstSteps } from './first-steps.tsx';
import { Idea } from './idea.tsx';
import { RigLine } from './rig-line.tsx';
import type { StartActions } from './start-actions.ts';
import { unfinishedTrials } from './start-view.ts';
import { Studies } from './studies.tsx';
import { UnfinishedTrial } from './unfinished-trial.tsx';
import './start.css';

/** Where a session begins: what was left unfinished, the one next step, the studies, the rig. */
export function StartScreen({ snapshot, actions }: { snapshot: Snapshot; actions: StartActions }): ReactElement {
  const [left, setLeft] = useState<ReadonlySet<string>>(new Set());
  const unfinished = unfinishedTrials(snapshot).find(({ trial }) => !left.has(trial.trial)) ?? null;
  return (
    <main className="start">
      <Idea />
      <div className="start-side">
        {unfinished !== null && (
          <UnfinishedTrial
            key={unfinished.trial.trial}
            unfinished={unfinished}
            actions={actions}
            onLeave={() => {
              setLeft(new Set([...left, unfinished.trial.trial]));
            }}
          />
        )}
        <FirstSteps snapshot={snapshot} actions={actions} lit={unfinished === null} />
        <section className="panel start-list" aria-label={startWords.studies}>
          <Studies snapshot={snapshot} actions={actions} />
          <RigLine rig={snapshot.rig} actions={actions} />
        </section>
      </div>
    </main>
  );
}
