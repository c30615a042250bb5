import type { ReactElement } from 'react';
import { useState } from 'react';
import type { NewPerson } from '../../src/bridge/contract.ts';
import type { PersonView, Snapshot } from '../../src/bridge/snapshot.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { TextField, TickField } from '../ui/field.tsx';
import { Icon } from '../ui/icon.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { personWords } from '../words/person.ts';
import type { PersonDraft } from './person-draft.ts';
import { noPerson, readPersonDraft, roles } from './person-draft.ts';
import './person.css';

/** What the screen asks of the host and of the window. */
export interface PersonActions {
  readonly choose: (code: string | null) => Promise<Outcome<unknown>>;
  readonly add: (person: NewPerson) => Promise<Outcome<PersonView>>;
  /** To where the user came from. */
  readonly back: () => void;
}

/** Who is at the rig: one of those who are registered, or somebody new. */
export function PersonScreen(props: { readonly snapshot: Snapshot; readonly actions: PersonActions }): ReactElement {
  const { people, person } = props.snapshot;
  const [adding, setAdding] = useState(people.length === 0);
  const { busy, failure, perform } = usePerform();
  const step = (code: string | null): void => {
    perform(() => props.actions.choose(code), props.actions.back);
  };
  const list = (
    <ul className="people" aria-label={personWords.people}>
      {people.map((one, index) => {
        const here = one.person === person?.person;
        return (
          <li key={one.person}>
            <button
              type="button"
              className={here ? 'person-row person-here' : 'person-row'}
              disabled={busy}
              aria-current={here}
              autoFocus={here || (person === null && index === 0)}
              onClick={() => {
                step(one.code);
              }}
            >
              <span className="person-code">{one.code}</span>
              <span className="person-name">{one.name}</span>
              <span className="person-roles">
                {here && (
                  <>
                    <Icon name="tick" /> {personWords.now},{' '}
                  </>
                )}
                {one.roles.map((role) => personWords.roleShort[role]).join(', ')}
              </span>
            </button>
          </li>
        );
      })}
    </ul>
  );
  return (
    <main className="person">
      <section className="panel person-about">
        <h1>{personWords.title}</h1>
        <p className="person-lead">{personWords.lead}</p>
        <div className="person-limits">
          <h2>{personWords.limitsTitle}</h2>
          <ul>
            {personWords.limits.map((limit) => (
              <li key={limit}>{limit}</li>
            ))}
          </ul>
        </div>
      </section>
      <div className="person-side">
        <section className="panel person-choice" aria-label={personWords.people}>
          {failure !== null && <FailureBlock failure={failure} />}
          {people.length === 0 ? <p className="person-none">{personWords.none}</p> : list}
          <div className="row person-hands">
            {!adding && (
              <Button
                hotkey="N"
                onPress={() => {
                  setAdding(true);
                }}
              >
                {personWords.add}
              </Button>
            )}
            {person !== null && (
              <Button
                disabled={busy}
                onPress={() => {
                  step(null);
                }}
              >
                {personWords.leaveRig}
              </Button>
            )}
            <Button hotkey="Esc" onPress={props.actions.back}>
              {personWords.back}
            </Button>
          </div>
        </section>
        {adding && <NewPersonForm actions={props.actions} />}
      </div>
    </main>
  );
}

function NewPersonForm(props: { readonly actions: PersonActions }): ReactElement {
  const [draft, setDraft] = useState<PersonDraft>(noPerson);
  const [shown, setShown] = useState(false);
  const { busy, failure, perform } = usePerform();
  const read = readPersonDraft(draft);
  const field = (name: 'code' | 'name' | 'pin' | 'pinAgain') => {
    const problem = shown ? read.problems.get(name) : undefined;
    return {
      value: draft[name],
      onChange: (value: string) => {
        setDraft({ ...draft, [name]: value });
      },
      ...(problem === undefined ? {} : { problem }),
    };
  };
  return (
    <form
      className="panel person-form"
      aria-label={personWords.add}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        setShown(true);
        const { person } = read;
        if (person === null) return;
        perform(async () => {
          const added = await props.actions.add(person);
          return added.done ? props.actions.choose(person.code) : added;
        }, props.actions.back);
      }}
    >
      <h2>{personWords.add}</h2>
      {failure !== null && <FailureBlock failure={failure} />}
      <div className="person-two">
        <TextField {...field('code')} label={personWords.code} hint={personWords.codeHint} autoFocus />
        <TextField {...field('name')} label={personWords.name} />
      </div>
      <fieldset className="person-ticks">
        <legend>{personWords.roles}</legend>
        {roles.map((role) => (
          <TickField
            key={role}
            label={personWords.role[role]}
            value={draft.roles.includes(role)}
            onChange={(on) => {
              setDraft({ ...draft, roles: on ? [...draft.roles, role] : draft.roles.filter((one) => one !== role) });
            }}
          />
        ))}
        {shown && read.problems.has('roles') && <p className="field-problem">{personWords.noRole}</p>}
      </fieldset>
      <div className="person-two">
        <TextField {...field('pin')} label={personWords.pin} hint={personWords.pinHint} kind="secret" />
        <TextField {...field('pinAgain')} label={personWords.pinAgain} kind="secret" />
      </div>
      <Button submit lit disabled={busy}>
        {personWords.addAndStep}
      </Button>
    </form>
  );
}
