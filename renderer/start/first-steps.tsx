import type { ReactElement } from 'react';
import { useState } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import { FailureBlock } from '../ui/failure-block.tsx';
import { Key } from '../ui/key.tsx';
import { useHotkey } from '../ui/use-hotkey.ts';
import { usePerform } from '../ui/use-perform.ts';
import { startWords } from '../words/start.ts';
import type { StartActions } from './start-actions.ts';
import { nextStep } from './start-view.ts';

/** The next obvious action, lit, and the way to instruments beside it. */
export function FirstSteps(props: {
  readonly snapshot: Snapshot;
  readonly actions: StartActions;
  /** False while something else on the screen comes first. */
  readonly lit: boolean;
}): ReactElement {
  const { snapshot, actions } = props;
  const step = nextStep(snapshot);
  return (
    <div className="steps">
      {step === 'console' ? (
        <Step
          lit={props.lit}
          hotkey="T"
          title={startWords.consoleTitle}
          text={startWords.consoleText(snapshot.trial?.header.subject ?? '', snapshot.trial?.header.ensemble ?? '')}
          onPress={actions.toConsole}
        />
      ) : step === 'plan-trial' ? (
        <Step
          lit={props.lit}
          hotkey="P"
          title={
            snapshot.studies.some(({ trials }) => trials.length > 0) ? startWords.planTitle : startWords.planFirstTitle
          }
          text={startWords.planText(snapshot.rig.rig?.name ?? '')}
          onPress={() => {
            actions.toPlan(null);
          }}
        />
      ) : step === 'wait-for-rig' ? (
        <div className="step step-wait" role="status">
          <span className="step-title">{startWords.openingTitle}</span>
          <span className="step-text">{startWords.openingText}</span>
        </div>
      ) : (
        <VirtualRig snapshot={snapshot} actions={actions} lit={props.lit} />
      )}
      <Step
        lit={false}
        hotkey="R"
        title={snapshot.rig.state === 'open' ? startWords.toRig : startWords.ownTitle}
        text={snapshot.rig.state === 'open' ? startWords.openText : startWords.ownText(snapshot.rigs.length)}
        onPress={actions.toRig}
      />
    </div>
  );
}

function Step(props: {
  readonly lit: boolean;
  readonly hotkey: string;
  readonly title: string;
  readonly text: string;
  readonly onPress: () => void;
}): ReactElement {
  useHotkey(props.hotkey, props.onPress);
  return (
    <button type="button" className={props.lit ? 'step step-lit' : 'step'} onClick={props.onPress}>
      <span className="step-title">{props.title}</span>
      <span className="step-text">{props.text}</span>
      <Key>{props.hotkey}</Key>
    </button>
  );
}

/** The way in for somebody without instruments: one press; which scenario is a choice beside it. */
function VirtualRig(props: {
  readonly snapshot: Snapshot;
  readonly actions: StartActions;
  readonly lit: boolean;
}): ReactElement {
  const { scenarios } = props.snapshot;
  const [chosen, setChosen] = useState<string | null>(null);
  const { busy, failure, perform } = usePerform();
  const scenario = chosen ?? scenarios[0]?.scenario;
  const start = (): void => {
    if (scenario !== undefined) perform(() => props.actions.startVirtual(scenario));
  };
  useHotkey('V', start);
  return (
    <div className={props.lit ? 'step step-lit step-virtual' : 'step step-virtual'}>
      <button type="button" className="step-press" disabled={busy || scenario === undefined} onClick={start}>
        <span className="step-title">{startWords.virtualTitle}</span>
        <span className="step-text">{scenario === undefined ? startWords.noScenario : startWords.virtualText}</span>
        <Key>V</Key>
      </button>
      {scenarios.length > 0 && (
        <label className="step-choice">
          <span>{startWords.scenario}</span>
          <select
            value={scenario}
            onChange={(event) => {
              setChosen(event.target.value);
            }}
          >
            {scenarios.map((one) => (
              <option key={one.scenario} value={one.scenario}>
                {startWords.scenarioChoice(one.label, one.durationSeconds)}
              </option>
            ))}
          </select>
        </label>
      )}
      {failure !== null && <FailureBlock failure={failure} />}
    </div>
  );
}
