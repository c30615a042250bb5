import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { AfterItem, BeforeItem } from '../../src/model/trial-event.ts';
import type { Connection } from '../app/connection.ts';
import { appWords } from '../words/app.ts';
import { arm, consoleState, forgetArmed } from './console-state.ts';

type Answer = 'confirmed' | 'passed-over' | 'withdrawn';
type Action = 'start' | 'hold' | 'go-on' | 'repeat' | 'skip' | 'extend-rest' | 'stop' | 'close' | 'mark';

/** What a person's hands do in a trial. Refusals are shown on the console; nothing is asked twice. */
export interface TrialCommands {
  readonly send: (action: Action, note?: string) => void;
  /** Hold; or, when held or not started, the first of two keys. */
  readonly space: () => void;
  /** The first of two keys for what ends the exercise under way: one stroke must not cost its readings. */
  readonly arm: (action: 'repeat' | 'skip') => void;
  /** Half a minute more of the rest under way. Outside of one the host says why not. */
  readonly extendRest: () => void;
  /** The second of two keys. */
  readonly enter: () => void;
  readonly stop: () => void;
  readonly mark: () => void;
  /** Answers an item of the list of before the start. @param second code of who has seen it too. */
  readonly answer: (item: BeforeItem, answer: Answer, second: string | null, note: string) => void;
  /** Answers an item of the list of after the trial. */
  readonly answerAfter: (item: AfterItem, answer: Answer | 'noted', note: string) => void;
  readonly acknowledge: (alarm: string, instrument: string | null, reason: string) => void;
  readonly selectPort: (port: number) => void;
}

/** @param trialNow trial time of this moment as the window knows it, µs; null when it does not. */
export function trialCommands(
  connection: Connection,
  snapshot: () => Snapshot | null,
  trialNow: () => number | null,
): TrialCommands {
  const perform = (call: Parameters<Connection['ask']>[0]): void => {
    void connection.ask(call).then((outcome) => {
      consoleState.setState({ refusal: outcome.done ? null : outcome.failure });
    });
  };
  const send = (action: Action, note = '', exercise: string | null = null): void => {
    const trial = snapshot()?.trial;
    if (trial == null) return;
    const windowOffsetMilliseconds = connection.offsetMilliseconds();
    perform((client) => client.trial.command({ trial: trial.trial, action, note, exercise, windowOffsetMilliseconds }));
  };
  const allowed = (action: Action): boolean => snapshot()?.trial?.allowed.includes(action) === true;
  /** Two keys for nothing are worse than one word before: the host would refuse what nobody has their name to. */
  const somebody = (): boolean => {
    if (snapshot()?.person != null) return true;
    consoleState.setState({ refusal: appWords.nobodyThere });
    return false;
  };
  return {
    send,
    space() {
      if (allowed('hold')) {
        forgetArmed();
        send('hold');
      } else if (!somebody()) return;
      else if (allowed('go-on')) arm('go-on');
      else if (allowed('start')) arm('start');
    },
    arm(action) {
      if (allowed(action) && somebody()) arm(action, snapshot()?.trial?.now.exercise ?? null);
    },
    extendRest() {
      if (somebody()) send('extend-rest', '', snapshot()?.trial?.now.exercise ?? null);
    },
    enter() {
      const { armed, armedExercise } = consoleState.getState();
      if (armed === null) return;
      forgetArmed();
      send(armed, '', armedExercise);
    },
    // Not held back by what the snapshot allows: the host decides, and a stop that comes early does no harm.
    stop: () => send('stop'),
    mark() {
      send('mark');
      consoleState.setState({ panel: { kind: 'mark', atMicroseconds: trialNow() ?? 0 } });
    },
    answer(item, answer, second, note) {
      const trial = snapshot()?.trial;
      if (trial == null || !somebody()) return;
      consoleState.setState({ panel: null });
      perform((client) => client.trial.answer({ trial: trial.trial, item, answer, second, note }));
    },
    answerAfter(item, answer, note) {
      const trial = snapshot()?.trial;
      if (trial == null || !somebody()) return;
      consoleState.setState({ panel: null });
      perform((client) => client.trial.answerAfter({ trial: trial.trial, item, answer, note }));
    },
    acknowledge(alarm, instrument, reason) {
      consoleState.setState({ panel: null });
      perform((client) => client.alarm.acknowledge({ alarm, instrument, reason }));
    },
    selectPort: (port) => perform((client) => client.rig.selectPort({ port })),
  };
}
