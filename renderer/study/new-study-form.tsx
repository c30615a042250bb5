import type { ReactElement } from 'react';
import { useState } from 'react';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { TextField } from '../ui/field.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { startWords } from '../words/start.ts';

/** Name of a new study. It becomes a file of its own. */
export function NewStudyForm(props: {
  readonly create: (name: string) => Promise<Outcome<{ file: string }>>;
  readonly onDone: (file: string) => void;
  readonly onCancel: () => void;
}): ReactElement {
  const [name, setName] = useState('');
  const [shown, setShown] = useState(false);
  const { busy, failure, perform } = usePerform();
  const empty = name.trim() === '';
  return (
    <form
      className="panel new-study"
      aria-label={startWords.newStudy}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        setShown(true);
        if (empty) return;
        perform(
          () => props.create(name.trim()),
          ({ file }) => {
            props.onDone(file);
          },
        );
      }}
    >
      <TextField
        label={startWords.studyName}
        hint={startWords.studyNameHint}
        value={name}
        autoFocus
        {...(shown && empty ? { problem: { kind: 'empty' as const } } : {})}
        onChange={setName}
      />
      {failure !== null && <FailureBlock failure={failure} />}
      <div className="row">
        <Button submit lit disabled={busy}>
          {startWords.create}
        </Button>
        <Button hotkey="Esc" onPress={props.onCancel}>
          {startWords.cancel}
        </Button>
      </div>
    </form>
  );
}
