import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import type { TrialCommands } from './commands.ts';
import { consoleState, forgetArmed } from './console-state.ts';

type Line = TrialSnapshot['after'][number];

/** Opens what asks for the words of an answer. */
export function openAfter(item: Line['item'], answer: 'noted' | 'passed-over'): void {
  forgetArmed();
  consoleState.setState({ panel: { kind: 'after', item, answer } });
}

/** Says the good answer of an item; where what was measured is not good, what was found is asked for. */
export function afterByKey(line: Line, commands: TrialCommands): void {
  if (line.answer !== null) return;
  if (line.measured !== null && line.measured.verdict !== 'good') openAfter(line.item, 'noted');
  else commands.answerAfter(line.item, 'confirmed', '');
}
