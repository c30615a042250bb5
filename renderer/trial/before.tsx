import { useState, type ReactElement } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { Button } from '../ui/button.tsx';
import { Icon } from '../ui/icon.tsx';
import { Key } from '../ui/key.tsx';
import { beforeWords } from '../words/before.ts';
import { trialTime } from '../words/times.ts';
import type { TrialCommands } from './commands.ts';
import { answerByKey, otherPeople } from './before-keys.ts';
import { consoleState } from './console-state.ts';
import './before.css';

type Line = TrialSnapshot['before'][number];

/** What is gone through before the subject is set in motion; the figures are keys. */
export function Before(props: { readonly trial: TrialSnapshot; readonly commands: TrialCommands }): ReactElement {
  const { trial, commands } = props;
  const open = trial.before.filter(({ answer }) => answer === null).length;
  return (
    <section className="before panel" aria-labelledby="before-title">
      <header className="before-head">
        <h2 id="before-title">{beforeWords.title}</h2>
        <span role="status">
          {open === 0 ? beforeWords.all : beforeWords.open(open, trial.before.length)}
          {trial.header.virtual && ` ${beforeWords.virtual}`}
        </span>
      </header>
      <ol className="before-list">
        {trial.before.map((line, index) => (
          <BeforeRow key={line.item} line={line} figure={index + 1} commands={commands} />
        ))}
      </ol>
    </section>
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
  return (
    <li className={answer === null ? 'before-row before-open' : 'before-row'}>
      <span className="before-mark">
        {answer === null ? (
          <i className="before-box" />
        ) : (
          <Icon name={answer.answer === 'confirmed' ? 'tick' : 'caution'} size={24} />
        )}
      </span>
      <div className="before-what">
        <b>{line.title}</b>
        {line.must && <small>{beforeWords.must}</small>}
        <p>{line.detail}</p>
      </div>
      <div className="before-hands">
        {answer !== null ? (
          <>
            <span className="before-said">
              <b>{beforeWords.answers[answer.answer]}</b>{' '}
              {beforeWords.by(answer.persons, trialTime(answer.atMicroseconds))}
              {answer.note !== '' && (
                <span className="before-note" title={answer.note}>
                  {answer.note}
                </span>
              )}
            </span>
            {!line.byContact && (
              <Button
                small
                label={`${beforeWords.takeBack}: ${line.title}`}
                onPress={() => commands.answer(line.item, 'withdrawn', null, '')}
              >
                {beforeWords.takeBack}
              </Button>
            )}
          </>
        ) : (
          <>
            {line.byContact ? (
              <span className="before-said">{beforeWords.press}</span>
            ) : (
              <Button label={`${figure} ${confirm}: ${line.title}`} onPress={() => answerByKey(line, commands)}>
                <Key>{figure}</Key> {confirm}
              </Button>
            )}
            {!line.must && (
              <Button
                label={`${beforeWords.passOver}: ${line.title}`}
                onPress={() =>
                  consoleState.setState({ panel: { kind: 'before', item: line.item, answer: 'passed-over' } })
                }
              >
                {beforeWords.passOver}
              </Button>
            )}
          </>
        )}
      </div>
    </li>
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
  if (panel.answer === 'passed-over') return <Reason line={line} commands={commands} onClose={onClose} />;
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

function Reason(props: {
  readonly line: Line;
  readonly commands: TrialCommands;
  readonly onClose: () => void;
}): ReactElement {
  const { line, commands, onClose } = props;
  const [reason, setReason] = useState('');
  const said = reason.trim();
  return (
    <form
      className="console-panel panel"
      aria-label={beforeWords.reasonTitle(line.title)}
      onSubmit={(event) => {
        event.preventDefault();
        if (said !== '') commands.answer(line.item, 'passed-over', null, said);
      }}
    >
      <h2>{beforeWords.reasonTitle(line.title)}</h2>
      <label className="quiet" htmlFor="before-reason">
        {beforeWords.reasonHint}
      </label>
      <input
        id="before-reason"
        autoFocus
        maxLength={200}
        value={reason}
        onChange={(event) => setReason(event.target.value)}
      />
      <div className="console-panel-row">
        <Button submit lit disabled={said === ''}>
          <Key>Enter</Key> {beforeWords.passOver}
        </Button>
        <Button onPress={onClose}>
          <Key>Esc</Key> {beforeWords.leave}
        </Button>
      </div>
    </form>
  );
}
