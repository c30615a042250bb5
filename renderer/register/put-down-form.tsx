import type { ReactElement, ReactNode } from 'react';
import { useState } from 'react';
import type { RegisterAsk } from '../../src/bridge/register.ts';
import type { PersonView } from '../../src/bridge/snapshot.ts';
import type { RegisterEntry } from '../../src/calibration/register/record.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { ChoiceField, TextField } from '../ui/field.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { registerWords as words } from '../words/register.ts';

/** What every form of the register is given. */
export interface PutDownProps {
  readonly people: readonly PersonView[];
  /** Code of who is at the rig. */
  readonly here: string | null;
  readonly add: (asked: RegisterAsk) => Promise<Outcome<unknown>>;
  readonly onDone: () => void;
  readonly onBack: () => void;
}

/** Fields of one entry, who puts it down, and the PIN that shows it. The host decides. */
export function PutDownForm(
  props: PutDownProps & {
    readonly title: string;
    /** What is said, once there is nothing wrong with it; null shows what is. */
    readonly read: () => RegisterEntry | null;
    readonly submit?: string;
    readonly children: ReactNode;
  },
): ReactElement {
  const technicians = props.people.filter(({ roles }) => roles.includes('technician'));
  const [person, setPerson] = useState(
    technicians.find(({ code }) => code === props.here)?.code ?? technicians[0]?.code ?? '',
  );
  const [pin, setPin] = useState('');
  const [noPin, setNoPin] = useState(false);
  const { busy, failure, perform } = usePerform();
  return (
    <form
      className="register-form"
      aria-label={props.title}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        const entry = props.read();
        setNoPin(pin === '');
        if (entry !== null && pin !== '' && person !== '') {
          perform(() => props.add({ entry, person, pin }), props.onDone);
        }
      }}
    >
      <header>
        <h2>{props.title}</h2>
        <Button small hotkey="Esc" onPress={props.onBack}>
          {words.back}
        </Button>
      </header>
      {failure !== null && <FailureBlock failure={failure} />}
      {props.children}
      {technicians.length === 0 ? (
        <p className="flag register-nobody">
          {words.nobody} <a href="#/person">{words.toPeople}</a>
        </p>
      ) : (
        <div className="register-sign">
          <ChoiceField
            label={words.fields.technician}
            value={person}
            choices={technicians.map(({ code, name }) => ({ value: code, text: `${code}, ${name}` }))}
            onChange={setPerson}
          />
          <TextField
            label={words.fields.pin}
            kind="secret"
            value={pin}
            problem={noPin && pin === '' ? { kind: 'empty' } : undefined}
            onChange={setPin}
          />
          <Button submit lit disabled={busy}>
            {props.submit ?? words.putDown}
          </Button>
        </div>
      )}
    </form>
  );
}
