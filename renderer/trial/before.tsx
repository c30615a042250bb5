import type { ReactElement } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { Button } from '../ui/button.tsx';
import { Key } from '../ui/key.tsx';
import { beforeWords } from '../words/before.ts';
import { trialTime } from '../words/times.ts';
import { AnswerList, AnswerReason, AnswerRow } from './answer-list.tsx';
import type { TrialCommands } from './commands.ts';
import { answerByKey, otherPeople } from './before-keys.ts';
import { consoleState } from './console-state.ts';

type Line = TrialSnapshot['before'][number];

/** What is gone through before the subject is set in motion; the figures are keys. */
export function Before(props: { readonly trial: TrialSnapshot; readonly commands: TrialCommands }): ReactElement {
  const { trial, commands } = props;
  const open = trial.before.filter(({ answer }) => answer === null).length;
  const status = open === 0 ? beforeWords.all : beforeWords.open(open, trial.before.length);
  return (
    <AnswerList title={beforeWords.title} status={trial.header.virtual ? `${status} ${beforeWords.virtual}` : status}>
      {trial.before.map((line, index) => (
        <BeforeRow key={line.item} line={line} figure={index + 1} commands={commands} />
      ))}
    </AnswerList>
  );
}

function BeforeRow(props: {
  readonly line: Line;
  readonly figure: number;
  readonly commands: TrialCommands;
}): ReactElement {
  const { line, figure, commands } = props;
  const { answer } = line;
  const confirm = line.two ? beforeWords.confirmTwo : beforeWords.confirm;
  const takeBack = (): void => commands.answer(line.item, 'withdrawn', null, '');
  return (
    <AnswerRow
      title={line.title}
      detail={line.detail}
      must={line.must ? beforeWords.must : undefined}
      said={
        answer === null
          ? null
          : {
              word: beforeWords.answers[answer.answer],
              by: beforeWords.by(answer.persons, trialTime(answer.atMicroseconds)),
              note: answer.note,
              good: answer.answer === 'confirmed',
            }
      }
      takeBack={line.byContact ? null : { word: beforeWords.takeBack, onPress: takeBack }}
    >
      {line.byContact ? (
        <span className="before-said">{beforeWords.press}</span>
      ) : line.passOnly ? null : (
        <Button label={`${figure} ${confirm}: ${line.title}`} onPress={() => answerByKey(line, commands)}>
          <Key>{figure}</Key> {confirm}
        </Button>
      )}
      {!line.must && (
        <Button
          label={`${line.passOnly ? `${figure} ` : ''}${beforeWords.passOver}: ${line.title}`}
          onPress={() =>
            consoleState.setState({ panel: { kind: 'before', item: line.item, answer: 'passed-over' } })
          }
        >
          {line.passOnly && <Key>{figure}</Key>} {beforeWords.passOver}
        </Button>
      )}
    </AnswerRow>
  );
}

/** Who has seen it too, or why an item is passed over. */
export function BeforePanel(props: {
  readonly snapshot: Snapshot;
  readonly trial: TrialSnapshot;
  readonly panel: { readonly item: Line['item']; readonly answer: 'confirmed' | 'passed-over' };
  readonly commands: TrialCommands;
  readonly onClose: () => void;
}): ReactElement | null {
  const { snapshot, panel, commands, onClose } = props;
  const line = props.trial.before.find(({ item }) => item === panel.item);
  if (line === undefined) return null;
  if (panel.answer === 'passed-over') {
    return (
      <AnswerReason
        title={beforeWords.reasonTitle(line.title)}
        hint={beforeWords.reasonHint}
        keep={beforeWords.passOver}
        leave={beforeWords.leave}
        longest={200}
        onKeep={(reason) => commands.answer(line.item, 'passed-over', null, reason)}
        onClose={onClose}
      />
    );
  }
  const others = otherPeople(snapshot);
  return (
    <div className="console-panel panel" role="dialog" aria-label={beforeWords.secondTitle(line.title)}>
      <h2>{beforeWords.secondTitle(line.title)}</h2>
      <p className="quiet">{others.length === 0 ? beforeWords.nobodyElse : beforeWords.secondHint}</p>
      <div className="valve-ports">
        {others.map(({ code, name }, index) => (
          <Button key={code} onPress={() => commands.answer(line.item, 'confirmed', code, '')}>
            {index < 9 && <Key>{index + 1}</Key>} {code} {name}
          </Button>
        ))}
      </div>
      <Button onPress={onClose} hotkey="Esc">
        {beforeWords.leave}
      </Button>
    </div>
  );
}
