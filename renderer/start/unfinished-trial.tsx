import type { ReactElement } from 'react';
import { FailureBlock } from '../ui/failure-block.tsx';
import { Icon } from '../ui/icon.tsx';
import { Key } from '../ui/key.tsx';
import { usePerform } from '../ui/use-perform.ts';
import { startWords } from '../words/start.ts';
import type { StartActions } from './start-actions.ts';
import type { Unfinished } from './start-view.ts';

/** A trial that was running when a host ended: what is kept, and two ways on. Neither is straight into exertion. */
export function UnfinishedTrial(props: {
  readonly unfinished: Unfinished;
  readonly actions: StartActions;
  readonly onLeave: () => void;
}): ReactElement {
  const { study, trial } = props.unfinished;
  const { busy, failure, perform } = usePerform();
  return (
    <section className="unfinished" aria-label={startWords.unfinishedTitle(study.name)}>
      <Icon name="caution" size={44} />
      <div className="unfinished-text">
        <h2>{startWords.unfinishedTitle(study.name)}</h2>
        <p>
          {startWords.unfinishedText(trial.subject, trial.ensemble, trial.recordedSeconds, trial.createdAt)}
          {trial.virtual && ` ${startWords.unfinishedVirtual}`}
        </p>
        {failure !== null && <FailureBlock failure={failure} />}
        <div className="row">
          <button
            type="button"
            className="unfinished-button unfinished-lit"
            disabled={busy}
            autoFocus
            onClick={() => {
              perform(() => props.actions.takeUp(study.file, trial.trial), props.actions.toConsole);
            }}
          >
            {startWords.takeUp} <Key>Enter</Key>
          </button>
          <button type="button" className="unfinished-button" disabled={busy} onClick={props.onLeave}>
            {startWords.leave}
          </button>
        </div>
      </div>
    </section>
  );
}
