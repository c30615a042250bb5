import type { ReactElement } from 'react';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { Button } from '../ui/button.tsx';
import { Key } from '../ui/key.tsx';
import { afterWords } from '../words/after.ts';
import { trialTime } from '../words/times.ts';
import { afterByKey, openAfter } from './after-keys.ts';
import { AnswerList, AnswerReason, AnswerRow } from './answer-list.tsx';
import type { TrialCommands } from './commands.ts';

type Line = TrialSnapshot['after'][number];

/** What is gone through when nobody exerts any more; the figures are keys. */
export function After(props: { readonly trial: TrialSnapshot; readonly commands: TrialCommands }): ReactElement {
  const { trial, commands } = props;
  const open = trial.after.filter(({ answer }) => answer === null).length;
  const waits = trial.header.virtual ? (open === trial.after.length ? afterWords.virtual : '') : '';
  return (
    <AnswerList
      title={afterWords.title}
      status={
        open === 0
          ? afterWords.all
          : `${afterWords.open(open, trial.after.length)} ${trial.afterHolds ? afterWords.holds : waits}`
      }
    >
      {trial.after.map((line, index) => (
        <AfterRow key={line.item} line={line} figure={index + 1} commands={commands} />
      ))}
    </AnswerList>
  );
}

function AfterRow(props: {
  readonly line: Line;
  readonly figure: number;
  readonly commands: TrialCommands;
}): ReactElement {
  const { line, figure, commands } = props;
  const { answer, measured } = line;
  const wordOf = { confirmed: line.good, noted: line.found, 'passed-over': afterWords.passOver };
  const mayConfirm = measured === null || measured.verdict === 'good';
  return (
    <AnswerRow
      title={line.title}
      detail={line.detail}
      must={line.must ? afterWords.must : undefined}
      measured={measured === null ? null : { text: measured.text, doubt: measured.verdict === 'doubt' }}
      said={
        answer === null
          ? null
          : {
              word: wordOf[answer.answer],
              by: afterWords.by(answer.persons, trialTime(answer.atMicroseconds)),
              note: answer.note,
              good: answer.answer === 'confirmed',
            }
      }
      takeBack={{ word: afterWords.takeBack, onPress: () => commands.answerAfter(line.item, 'withdrawn', '') }}
    >
      {mayConfirm && (
        <Button label={`${figure} ${line.good}: ${line.title}`} onPress={() => afterByKey(line, commands)}>
          <Key>{figure}</Key> {line.good}
        </Button>
      )}
      <Button
        label={`${mayConfirm ? '' : `${figure} `}${afterWords.note}: ${line.title}`}
        onPress={() => openAfter(line.item, 'noted')}
      >
        {!mayConfirm && <Key>{figure}</Key>} {afterWords.note}
      </Button>
      {!line.must && (
        <Button
          label={`${afterWords.passOver}: ${line.title}`}
          onPress={() => openAfter(line.item, 'passed-over')}
        >
          {afterWords.passOver}
        </Button>
      )}
    </AnswerRow>
  );
}

/** What was found, or why an item is passed over. */
export function AfterPanel(props: {
  readonly trial: TrialSnapshot;
  readonly panel: { readonly item: Line['item']; readonly answer: 'noted' | 'passed-over' };
  readonly commands: TrialCommands;
  readonly onClose: () => void;
}): ReactElement | null {
  const { item, answer } = props.panel;
  const line = props.trial.after.find((one) => one.item === item);
  if (line === undefined) return null;
  return (
    <AnswerReason
      title={answer === 'noted' ? afterWords.noteTitle(line.title) : afterWords.passOverTitle(line.title)}
      hint={afterWords.hint}
      keep={answer === 'noted' ? afterWords.keep : afterWords.passOver}
      leave={afterWords.leave}
      longest={400}
      onKeep={(text) => props.commands.answerAfter(item, answer, text)}
      onClose={props.onClose}
    />
  );
}
