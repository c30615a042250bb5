import { useEffect, useRef } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { Connection } from '../app/connection.ts';
import { routes } from '../app/routes.ts';
import { trialCommands, type TrialCommands } from './commands.ts';
import { consoleState, forgetArmed } from './console-state.ts';
import { alarmInRow } from './alarm-order.ts';

/** Where a key press comes from. */
interface Press {
  readonly key: string;
  readonly inText: boolean;
  readonly onControl: boolean;
  readonly onConsole: boolean;
}

/**
 * What a key does while a trial is under way; false when it does nothing. Stop works everywhere, in a text field too;
 * acknowledging works on every screen; the other keys belong to the console.
 */
export function pressTrialKey(press: Press, snapshot: Snapshot, commands: TrialCommands): boolean {
  const { trial } = snapshot;
  const key = press.key.length === 1 ? press.key.toLowerCase() : press.key;
  if (trial !== null && key === 'End') {
    commands.stop();
    return true;
  }
  if (key === 'Escape') return closePanel();
  if (press.inText) return false;
  if ('abcd'.includes(key) && key.length === 1) return openAcknowledge('abcd'.indexOf(key), snapshot);
  const { panel } = consoleState.getState();
  if (panel?.kind === 'acknowledge' && key >= '1' && key <= '6' && key.length === 1) {
    commands.acknowledge(panel.alarm, panel.instrument, key);
    return true;
  }
  if (trial === null) return false;
  if (key === ' ' && (press.onConsole || !press.onControl)) {
    commands.space();
    return true;
  }
  if (key === 'Enter' && consoleState.getState().armed !== null) {
    commands.enter();
    return true;
  }
  return press.onConsole && pressConsoleKey(key, trial.allowed, commands);
}

function pressConsoleKey(key: string, allowed: readonly string[], commands: TrialCommands): boolean {
  switch (key) {
    case 'm':
      if (allowed.includes('mark')) commands.mark();
      return true;
    case 'r':
      if (allowed.includes('repeat')) commands.send('repeat');
      return true;
    case 'n':
      if (allowed.includes('skip')) commands.send('skip');
      return true;
    case 'v':
      if (allowed.includes('valve')) consoleState.setState({ panel: { kind: 'valve' } });
      return true;
    case 'l':
      consoleState.setState(({ oneAxis }) => ({ oneAxis: !oneAxis }));
      return true;
    default:
      return false;
  }
}

function closePanel(): boolean {
  const { panel, armed } = consoleState.getState();
  if (panel === null && armed === null) return false;
  forgetArmed();
  consoleState.setState({ panel: null });
  return true;
}

function openAcknowledge(place: number, snapshot: Snapshot): boolean {
  const alarm = alarmInRow(snapshot.alarms, place);
  if (alarm === null || alarm.acknowledged) return false;
  consoleState.setState({ panel: { kind: 'acknowledge', alarm: alarm.alarm, instrument: alarm.instrument } });
  return true;
}

/** Listens on the whole window, before any control takes the key. */
export function useTrialKeys(connection: Connection, snapshot: Snapshot | null): void {
  const latest = useRef(snapshot);
  useEffect(() => {
    latest.current = snapshot;
  });
  useEffect(() => {
    const commands = trialCommands(
      connection,
      () => latest.current,
      () => connection.samples.time.at(performance.now()),
    );
    const listen = (event: KeyboardEvent): void => {
      if (latest.current === null || event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
      const target = event.target instanceof Element ? event.target : null;
      const press: Press = {
        key: event.key,
        inText: target?.matches('input:not([type=checkbox]):not([type=radio]), select, textarea') === true,
        onControl: target?.matches('button, a, input, [tabindex]') === true,
        onConsole: window.location.hash.slice(1) === routes.trial,
      };
      if (!pressTrialKey(press, latest.current, commands)) return;
      event.preventDefault();
      event.stopPropagation();
    };
    window.addEventListener('keydown', listen, { capture: true });
    return () => window.removeEventListener('keydown', listen, { capture: true });
  }, [connection]);
}
