import { useState, type ReactElement } from 'react';
import { useStore } from 'zustand';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { Icon, type IconName } from '../ui/icon.tsx';
import { Key } from '../ui/key.tsx';
import { ProbeMark } from '../ui/probe-mark.tsx';
import { trialTime } from '../words/times.ts';
import { trialWords } from '../words/trial.ts';
import { AfterPanel } from './after.tsx';
import { BeforePanel } from './before.tsx';
import type { TrialCommands } from './commands.ts';
import { consoleState } from './console-state.ts';

type Allowed = TrialSnapshot['allowed'][number];

/** Every action with its key on its control. Hold at the far left, stop at the far right. */
export function Hands(props: {
  readonly snapshot: Snapshot;
  readonly trial: TrialSnapshot;
  readonly commands: TrialCommands;
}): ReactElement {
  const { snapshot, trial, commands } = props;
  const oneAxis = useStore(consoleState, (state) => state.oneAxis);
  // Whoever holds or stops is asked for no name; all else waits for one, and the block beside the countdown says so.
  const may = (action: Allowed): boolean =>
    trial.allowed.includes(action) && (snapshot.person !== null || action === 'hold' || action === 'stop');
  const danger = snapshot.alarms.some((alarm) => alarm.priority === 'high' && alarm.lastedSeconds === null);
  const first = may('hold')
    ? ({ word: trialWords.hold, icon: 'pause', ready: true, want: danger } as const)
    : trial.phase === 'prepared'
      ? ({ word: trialWords.start, icon: 'play', ready: may('start'), want: may('start') && !danger } as const)
      : ({ word: trialWords.goOn, icon: 'play', ready: may('go-on'), want: may('go-on') && !danger } as const);
  return (
    <footer className="hands" aria-label={trialWords.hands}>
      <Hand
        name={first.word}
        icon={first.icon}
        keyName="Space"
        first
        want={first.want}
        may={first.ready}
        onPress={commands.space}
      />
      <Hand name={trialWords.mark} icon="flag" keyName="M" may={may('mark')} onPress={commands.mark} />
      <Hand
        name={trialWords.repeat}
        icon="again"
        keyName="R"
        may={may('repeat')}
        onPress={() => commands.arm('repeat')}
      />
      <Hand name={trialWords.skip} icon="skip" keyName="N" may={may('skip')} onPress={() => commands.arm('skip')} />
      <Hand
        name={trialWords.extendRest}
        icon="longer"
        keyName="E"
        may={may('extend-rest')}
        onPress={commands.extendRest}
      />
      <Hand
        name={trial.phase === 'running' ? trialWords.valveWhenHeld : trialWords.valve}
        icon="valve"
        keyName="V"
        may={may('valve')}
        onPress={() => consoleState.setState({ panel: { kind: 'valve' } })}
      />
      <Hand
        name={oneAxis ? trialWords.lanesView : trialWords.oneAxis}
        icon="lanes"
        keyName="L"
        may
        onPress={() => consoleState.setState({ oneAxis: !oneAxis })}
      />
      {trial.allowed.includes('close') && (
        <Hand
          name={trialWords.close}
          keyName=""
          may={may('close')}
          onPress={() => commands.send('close')}
          want={may('close') && trial.phase === 'stopped'}
        />
      )}
      <button
        type="button"
        className={danger ? 'stop stop-filled' : 'stop'}
        disabled={!may('stop')}
        onPointerDown={() => {
          if (may('stop')) commands.stop();
        }}
        onClick={(event) => {
          // A click without a pointer: the keyboard on the focused control.
          if (event.detail === 0) commands.stop();
        }}
      >
        <Key>End</Key>
        <svg width="34" height="34" viewBox="0 0 24 24" aria-hidden="true">
          <path fill="currentColor" d="M7.5 1.5H16.5L22.5 7.5V16.5L16.5 22.5H7.5L1.5 16.5V7.5Z" />
          <rect className="stop-square" x="8" y="8" width="8" height="8" />
        </svg>
        {trialWords.stop}
      </button>
    </footer>
  );
}

function Hand(props: {
  readonly name: string;
  readonly icon?: IconName;
  readonly keyName: string;
  readonly may: boolean;
  readonly first?: boolean;
  readonly want?: boolean;
  readonly onPress: () => void;
}): ReactElement {
  return (
    <button
      type="button"
      className={`hand${props.first === true ? ' hand-first' : ''}${props.want === true ? ' hand-want' : ''}`}
      disabled={!props.may}
      onClick={props.onPress}
    >
      {props.keyName !== '' && <Key>{props.keyName}</Key>}
      {props.icon !== undefined && <Icon name={props.icon} size={24} />}
      <span>{props.name}</span>
    </button>
  );
}

/** What a key has opened: a note to a mark, the valve by hand, a refusal. It covers lanes, never alarms or hands. */
export function ConsolePanel(props: {
  readonly snapshot: Snapshot;
  readonly trial: TrialSnapshot;
  readonly commands: TrialCommands;
}): ReactElement | null {
  const panel = useStore(consoleState, (state) => state.panel);
  const refusal = useStore(consoleState, (state) => state.refusal);
  const close = (): void => consoleState.setState({ panel: null });
  if (panel?.kind === 'mark') {
    return <MarkNote atMicroseconds={panel.atMicroseconds} commands={props.commands} onClose={close} />;
  }
  if (panel?.kind === 'before') {
    return <BeforePanel {...props} panel={panel} onClose={close} />;
  }
  if (panel?.kind === 'after') {
    return <AfterPanel {...props} panel={panel} onClose={close} />;
  }
  if (panel?.kind === 'valve') {
    const { valve, rig } = props.snapshot.rig;
    return (
      <div className="console-panel panel" role="dialog" aria-label={trialWords.valveTitle}>
        <h2>{trialWords.valveTitle}</h2>
        <p className="quiet">
          {trialWords.valveHint} {valve.confirmedPort === null ? '' : trialWords.valveNow(valve.confirmedPort)}
        </p>
        <div className="valve-ports">
          {(rig?.ports ?? [])
            .filter(({ role }) => role !== 'spare')
            .map((port) => (
              <button
                key={port.port}
                type="button"
                className={valve.confirmedPort === port.port ? 'btn lit' : 'btn'}
                onClick={() => props.commands.selectPort(port.port)}
              >
                <ProbeMark probe={port.probe} size={18} lit={valve.confirmedPort === port.port} /> {port.port}{' '}
                {port.label}
              </button>
            ))}
        </div>
        <Button onPress={close} hotkey="Esc">
          {trialWords.panelClose}
        </Button>
      </div>
    );
  }
  if (refusal !== null) {
    return (
      <div className="console-panel panel">
        <FailureBlock failure={refusal} />
        <Button onPress={() => consoleState.setState({ refusal: null })}>{trialWords.panelClose}</Button>
      </div>
    );
  }
  return null;
}

function MarkNote(props: {
  readonly atMicroseconds: number;
  readonly commands: TrialCommands;
  readonly onClose: () => void;
}): ReactElement {
  const [note, setNote] = useState('');
  const time = trialTime(props.atMicroseconds);
  return (
    <form
      className="console-panel panel"
      aria-label={trialWords.markTitle(time)}
      onSubmit={(event) => {
        event.preventDefault();
        if (note.trim() !== '') props.commands.send('mark', trialWords.markPrefix(time, note.trim()).slice(0, 400));
        props.onClose();
      }}
    >
      <h2>{trialWords.markTitle(time)}</h2>
      <label className="quiet" htmlFor="mark-note">
        {trialWords.markNote}
      </label>
      <input id="mark-note" autoFocus maxLength={300} value={note} onChange={(event) => setNote(event.target.value)} />
      <div className="console-panel-row">
        <Button submit lit>
          <Key>Enter</Key> {trialWords.markKeep}
        </Button>
        <Button onPress={props.onClose}>
          <Key>Esc</Key> {trialWords.panelClose}
        </Button>
      </div>
    </form>
  );
}
