import { useEffect, useRef } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { Connection } from '../app/connection.ts';
import { routes } from '../app/routes.ts';
import { afterByKey } from './after-keys.ts';
import { answerByKey, otherPeople } from './before-keys.ts';
import { trialCommands, type TrialCommands } from './commands.ts';
import { consoleState, forgetArmed, type ConsoleState } from './console-state.ts';
import { alarmWords } from '../words/alarms.ts';
import { alarmInRow } from './alarm-order.ts';

/** What a key may belong to. Words that only hold the focus, as a question does, take none. */
const controls = 'button, a, input, [tabindex]:not([tabindex="-1"])';

/** Where a key press comes from. */
interface Press {
  readonly key: string;
  readonly inText: boolean;
  readonly onControl: boolean;
  readonly onConsole: boolean;
}

/**
 * What a key does while a trial is under way; false when it does nothing. Stop works everywhere, in a text field too;
 * hold and acknowledging work on every screen; the other keys belong to the console. What takes two keys takes them
 * on the console only, where the first of them is seen.
 */
export function pressTrialKey(press: Press, snapshot: Snapshot, commands: TrialCommands): boolean {
  // A closed trial is over, unless its list is still gone through.
  const isOver = snapshot.trial?.phase === 'closed' && snapshot.trial.after.length === 0;
  const trial = isOver ? null : snapshot.trial;
  const key = press.key.length === 1 ? press.key.toLowerCase() : press.key;
  if (trial !== null && trial.phase !== 'closed' && key === 'End') {
    commands.stop();
    return true;
  }
  if (press.onConsole && key === 'Escape') return closePanel();
  if (press.inText) return false;
  if (snapshot.trial !== null && 'abcd'.includes(key) && key.length === 1) {
    return pressAlarmKey('abcd'.indexOf(key), press.onConsole, snapshot, commands);
  }
  const { panel } = consoleState.getState();
  if (press.onConsole && panel !== null && pressPanelKey(key, panel, snapshot, commands)) return true;
  if (trial === null) return false;
  if (!press.onConsole) {
    if (key !== ' ' || press.onControl || !trial.allowed.includes('hold')) return false;
    commands.send('hold');
    return true;
  }
  // Under an open panel nothing but a hold: whoever chooses a reason must not go on or skip by a slip.
  if (panel !== null && !(key === ' ' && trial.allowed.includes('hold') && !press.onControl)) return false;
  const figure = /^[1-9]$/.test(key) ? Number(key) : 0;
  const line = trial.before[figure - 1];
  if (line !== undefined) {
    answerByKey(line, commands);
    return true;
  }
  const lineAfter = trial.after[figure - 1];
  if (lineAfter !== undefined) {
    afterByKey(lineAfter, commands);
    return true;
  }
  const { armed } = consoleState.getState();
  if (key === ' ') {
    commands.space();
    return true;
  }
  if (key === 'Enter' && armed !== null) {
    commands.enter();
    return true;
  }
  return pressConsoleKey(key, trial.allowed, commands);
}

type Panel = NonNullable<ConsoleState['panel']>;

/** What was armed is forgotten: its second key would not be seen. */
function openPanel(panel: Panel): void {
  forgetArmed();
  consoleState.setState({ panel });
}

/** The figures that an open panel shows: reasons of an acknowledgement, people, ports of the valve. */
function pressPanelKey(key: string, panel: Panel, snapshot: Snapshot, commands: TrialCommands): boolean {
  if (key.length !== 1 || key < '1' || key > '9') return false;
  const figure = Number(key);
  if (panel.kind === 'acknowledge') {
    const reason = alarmWords.reasons[figure - 1];
    if (reason === undefined) return false;
    commands.acknowledge(panel.alarm, panel.instrument, reason);
    return true;
  }
  if (panel.kind === 'before') {
    const second = panel.answer === 'confirmed' ? otherPeople(snapshot)[figure - 1] : undefined;
    if (second !== undefined) commands.answer(panel.item, 'confirmed', second.code, '');
    return second !== undefined;
  }
  const isPort = snapshot.rig.rig?.ports.some(({ port, role }) => port === figure && role !== 'spare') === true;
  if (panel.kind !== 'valve' || !isPort) return false;
  commands.selectPort(figure);
  return true;
}

function pressConsoleKey(key: string, allowed: readonly string[], commands: TrialCommands): boolean {
  switch (key) {
    case 'm':
      if (allowed.includes('mark')) commands.mark();
      return true;
    case 'r':
      commands.arm('repeat');
      return true;
    case 'n':
      commands.arm('skip');
      return true;
    case 'e':
      commands.extendRest();
      return true;
    case 'v':
      if (allowed.includes('valve')) openPanel({ kind: 'valve' });
      return true;
    case 'l':
      consoleState.setState(({ oneAxis }) => ({ oneAxis: !oneAxis }));
      return true;
    default:
      return false;
  }
}

function closePanel(): boolean {
  const { panel, armed, refusal } = consoleState.getState();
  if (panel === null && armed === null && refusal === null) return false;
  forgetArmed();
  consoleState.setState(panel === null ? { refusal: null } : { panel: null });
  return true;
}

/** On the console the list of reasons opens; elsewhere the strip shows one alarm, which is acknowledged as seen. */
function pressAlarmKey(place: number, onConsole: boolean, snapshot: Snapshot, commands: TrialCommands): boolean {
  const alarm = alarmInRow(snapshot.alarms, place);
  if (alarm === null || alarm.acknowledged) return false;
  if (onConsole) {
    openPanel({ kind: 'acknowledge', alarm: alarm.alarm, instrument: alarm.instrument });
    return true;
  }
  if (place > 0 || snapshot.trial?.phase === 'closed') return false;
  commands.acknowledge(alarm.alarm, alarm.instrument, alarmWords.reasons[0]);
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
    // A key that was taken stays taken until it comes up: repeated, it would press the control that has the focus.
    let taken: string | null = null;
    const swallow = (event: KeyboardEvent): void => {
      event.preventDefault();
      event.stopPropagation();
    };
    const listen = (event: KeyboardEvent): void => {
      if (event.repeat) {
        if (event.key === taken) swallow(event);
        return;
      }
      taken = null;
      if (latest.current === null || event.ctrlKey || event.altKey || event.metaKey) return;
      const target = event.target instanceof Element ? event.target : null;
      const press: Press = {
        key: event.key,
        inText: target?.matches('input:not([type=checkbox]):not([type=radio]), select, textarea') === true,
        onControl: target?.matches(controls) === true,
        onConsole: window.location.hash.slice(1) === routes.trial,
      };
      if (!pressTrialKey(press, latest.current, commands)) return;
      taken = event.key;
      swallow(event);
    };
    const release = (event: KeyboardEvent): void => {
      if (event.key === taken) swallow(event);
      taken = null;
    };
    window.addEventListener('keydown', listen, { capture: true });
    window.addEventListener('keyup', release, { capture: true });
    return () => {
      window.removeEventListener('keydown', listen, { capture: true });
      window.removeEventListener('keyup', release, { capture: true });
    };
  }, [connection]);
}
