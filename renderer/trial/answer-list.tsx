import { useId, useState, type ReactElement, type ReactNode } from 'react';
import { Button } from '../ui/button.tsx';
import { Icon } from '../ui/icon.tsx';
import { Key } from '../ui/key.tsx';
import './before.css';

/** A list that is gone through at the rig, before the start and after the trial. */
export function AnswerList(props: {
  readonly title: string;
  readonly status: string;
  readonly children: ReactNode;
}): ReactElement {
  const id = useId();
  return (
    <section className="before panel" aria-labelledby={id}>
      <header className="before-head">
        <h2 id={id}>{props.title}</h2>
        <span role="status">{props.status}</span>
      </header>
      <ol className="before-list">{props.children}</ol>
    </section>
  );
}

/** One item: what is looked at, what was measured, what was said of it, and the hands that answer. */
export function AnswerRow(props: {
  readonly title: string;
  readonly detail: string;
  /** That it cannot be passed over; absent where it can. */
  readonly must?: string | undefined;
  readonly measured?: { readonly text: string; readonly doubt: boolean } | null;
  /** Null while it is open. */
  readonly said: { readonly word: string; readonly by: string; readonly note: string; readonly good: boolean } | null;
  readonly takeBack: { readonly word: string; readonly onPress: () => void } | null;
  /** While it is open. */
  readonly children: ReactNode;
}): ReactElement {
  const { measured, said, takeBack } = props;
  return (
    <li className={said === null ? 'before-row before-open' : 'before-row'}>
      <span className="before-mark">
        {said === null ? <i className="before-box" /> : <Icon name={said.good ? 'tick' : 'caution'} size={24} />}
      </span>
      <div className="before-what">
        <b>{props.title}</b>
        {props.must !== undefined && <small>{props.must}</small>}
        {measured != null && (
          <p className={measured.doubt ? 'before-measured flag' : 'before-measured'}>{measured.text}</p>
        )}
        <p>{props.detail}</p>
      </div>
      <div className="before-hands">
        {said === null ? (
          props.children
        ) : (
          <>
            <span className="before-said">
              <b>{said.word}</b> {said.by}
              {said.note !== '' && (
                <span className="before-note" title={said.note}>
                  {said.note}
                </span>
              )}
            </span>
            {takeBack !== null && (
              <Button small label={`${takeBack.word}: ${props.title}`} onPress={takeBack.onPress}>
                {takeBack.word}
              </Button>
            )}
          </>
        )}
      </div>
    </li>
  );
}

/** Why an item is passed over, or what was found: a line that is stored with the trial. */
export function AnswerReason(props: {
  readonly title: string;
  readonly hint: string;
  readonly keep: string;
  readonly leave: string;
  readonly longest: number;
  readonly onKeep: (text: string) => void;
  readonly onClose: () => void;
}): ReactElement {
  const id = useId();
  const [text, setText] = useState('');
  const said = text.trim();
  return (
    <form
      className="console-panel panel"
      aria-label={props.title}
      onSubmit={(event) => {
        event.preventDefault();
        if (said !== '') props.onKeep(said);
      }}
    >
      <h2>{props.title}</h2>
      <label className="quiet" htmlFor={id}>
        {props.hint}
      </label>
      <input
        id={id}
        autoFocus
        maxLength={props.longest}
        value={text}
        onChange={(event) => setText(event.target.value)}
      />
      <div className="console-panel-row">
        <Button submit lit disabled={said === ''}>
          <Key>Enter</Key> {props.keep}
        </Button>
        <Button onPress={props.onClose}>
          <Key>Esc</Key> {props.leave}
        </Button>
      </div>
    </form>
  );
}
