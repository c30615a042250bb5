import type { ReactElement } from 'react';
import { useCallback, useEffect, useState } from 'react';
import type { ConnectionSettings } from '../../src/bridge/snapshot.ts';
import { Button } from '../ui/button.tsx';
import { ChoiceField, TextField } from '../ui/field.tsx';
import { rigWords } from '../words/rig.ts';
import type { ConnectionDraft, Problems } from './rig-draft.ts';
import { connectionDraft, readConnection } from './rig-draft.ts';

/** A port as the machine offers it. */
export interface OfferedPort {
  readonly path: string;
  readonly description: string;
}

/** The ports that the machine offers, asked for at once and again on `look`. */
export function useOfferedPorts(ask: () => Promise<readonly OfferedPort[]>): {
  readonly ports: readonly OfferedPort[] | null;
  readonly look: () => void;
} {
  const [ports, setPorts] = useState<readonly OfferedPort[] | null>(null);
  const look = useCallback(() => {
    void ask().then(setPorts);
  }, [ask]);
  useEffect(look, [look]);
  return { ports, look };
}

/** Fields for where an instrument is connected. What the machine offers can be taken; a typed name always works. */
export function ConnectionFields(props: {
  readonly draft: ConnectionDraft;
  readonly problems: Problems;
  /** Path of the draft among the problems, with its full stop; empty at the top. */
  readonly before: string;
  readonly offered: readonly OfferedPort[] | null;
  readonly mayBeNone: boolean;
  readonly onChange: (draft: ConnectionDraft) => void;
}): ReactElement {
  const { draft, offered } = props;
  const set = (change: Partial<ConnectionDraft>): void => {
    props.onChange({ ...draft, ...change });
  };
  const kinds = props.mayBeNone ? (['none', 'serial', 'tcp'] as const) : (['serial', 'tcp'] as const);
  const problem = (field: string): { problem?: NonNullable<ReturnType<Problems['get']>> } => {
    const found = props.problems.get(props.before + field);
    return found === undefined ? {} : { problem: found };
  };
  return (
    <div className="connection-fields">
      <ChoiceField
        label={rigWords.connection}
        value={draft.kind}
        choices={kinds.map((value) => ({ value, text: rigWords.connectionKind[value] }))}
        onChange={(kind) => {
          set({ kind });
        }}
      />
      {draft.kind === 'serial' && (
        <>
          <TextField
            label={rigWords.path}
            kind="wire"
            value={draft.path}
            hint={rigWords.pathHint}
            list={(offered ?? []).map(({ path }) => path)}
            {...problem('path')}
            onChange={(path) => {
              set({ path });
            }}
          />
          <TextField
            label={rigWords.baudRate}
            kind="number"
            value={draft.baudRate}
            {...problem('baudRate')}
            onChange={(baudRate) => {
              set({ baudRate });
            }}
          />
        </>
      )}
      {draft.kind === 'tcp' && (
        <>
          <TextField
            label={rigWords.host}
            kind="wire"
            value={draft.host}
            {...problem('host')}
            onChange={(host) => {
              set({ host });
            }}
          />
          <TextField
            label={rigWords.tcpPort}
            kind="number"
            value={draft.port}
            {...problem('port')}
            onChange={(port) => {
              set({ port });
            }}
          />
        </>
      )}
    </div>
  );
}

/** The machine's ports as buttons: press one and its name stands in the field. */
export function OfferedPorts(props: {
  readonly ports: readonly OfferedPort[] | null;
  readonly onTake: (path: string) => void;
  readonly onLook: () => void;
}): ReactElement {
  return (
    <fieldset className="offered">
      <legend>{rigWords.offered}</legend>
      {props.ports?.length === 0 && <p className="quiet">{rigWords.offeredNone}</p>}
      <ul>
        {(props.ports ?? []).map(({ path, description }) => (
          <li key={path}>
            <button
              type="button"
              className="offered-port"
              onClick={() => {
                props.onTake(path);
              }}
            >
              <span className="wire">{path}</span>
              {description !== '' && <span className="quiet">{description}</span>}
            </button>
          </li>
        ))}
      </ul>
      <Button small onPress={props.onLook}>
        {rigWords.lookAgain}
      </Button>
    </fieldset>
  );
}

/** Says where one instrument is connected. */
export function ConnectionForm(props: {
  readonly title: string;
  readonly settings: ConnectionSettings | null;
  readonly askOffered: () => Promise<readonly OfferedPort[]>;
  readonly busy: boolean;
  readonly onUse: (settings: ConnectionSettings) => void;
  readonly onCancel: () => void;
}): ReactElement {
  const { ports, look } = useOfferedPorts(props.askOffered);
  const [draft, setDraft] = useState<ConnectionDraft>(() => {
    const known = connectionDraft(props.settings);
    return known.kind === 'none' ? { ...known, kind: 'serial' } : known;
  });
  const [shown, setShown] = useState(false);
  const read = readConnection(draft);
  return (
    <form
      className="connection-form"
      aria-label={props.title}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        setShown(true);
        if (read.settings !== null) props.onUse(read.settings);
      }}
    >
      <h2>{props.title}</h2>
      <ConnectionFields
        draft={draft}
        problems={shown ? read.problems : new Map()}
        before=""
        offered={ports}
        mayBeNone={false}
        onChange={setDraft}
      />
      {draft.kind === 'serial' && (
        <OfferedPorts
          ports={ports}
          onLook={look}
          onTake={(path) => {
            setDraft({ ...draft, kind: 'serial', path });
          }}
        />
      )}
      <div className="row">
        <Button submit lit disabled={props.busy}>
          {rigWords.useIt}
        </Button>
        <Button hotkey="Esc" onPress={props.onCancel}>
          {rigWords.cancel}
        </Button>
      </div>
    </form>
  );
}
