import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import type { TrialCommands } from './commands.ts';
import { forgetArmed, consoleState } from './console-state.ts';

/**
 * Confirms an item of the list of before the start; where two people answer, who the second is comes first. What can
 * only be passed over asks why.
 */
export function answerByKey(line: TrialSnapshot['before'][number], commands: TrialCommands): void {
  if (line.answer !== null || line.byContact) return;
  forgetArmed();
  if (line.passOnly) {
    consoleState.setState({ panel: { kind: 'before', item: line.item, answer: 'passed-over' } });
    return;
  }
  if (line.two) consoleState.setState({ panel: { kind: 'before', item: line.item, answer: 'confirmed' } });
  else commands.answer(line.item, 'confirmed', null, '');
}

/** Everybody of the laboratory but who is at the rig, in order. */
export function otherPeople({ people, person }: Snapshot): Snapshot['people'] {
  return people.filter(({ code }) => code !== person?.code);
}
