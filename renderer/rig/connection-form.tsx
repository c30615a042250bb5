import type { ReactElement } from 'react';
import { useEffect, useState } from 'react';
import type { LineAsk, LineView, OfferedPort } from '../../src/bridge/ports.ts';
import type { ConnectionSettings } from '../../src/bridge/snapshot.ts';
import { identityWords } from '../../src/device/port-identity.ts';
import type { InstrumentConfiguration } from '../../src/model/rig.ts';
import { Button } from '../ui/button.tsx';
import { ChoiceField, TextField } from '../ui/field.tsx';
import { readNumber } from '../ui/read-number.ts';
import { portWords } from '../words/ports.ts';
import { rigWords } from '../words/rig.ts';
import { FindPort, useOfferedPorts } from './find-port.tsx';
import type { KnownPorts, PortActions } from './find-port.tsx';
import type { ConnectionDraft, Problems } from './rig-draft.ts';
import { connectionDraft, readConnection } from './rig-draft.ts';

/** Fields for where an instrument is connected. What the machine offers can be taken; a typed name always works. */
export function ConnectionFields(props: {
  readonly draft: ConnectionDraft;
  readonly problems: Problems;
  /** Path of the draft among the problems, with its full stop; empty at the top. */
  readonly before: string;
  readonly offered: readonly OfferedPort[] | null;
  /** What the instrument sends, in words. */
  readonly load: string | null;
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
              // What was typed is meant as it is.
              set({ path, identity: null });
            }}
          />
          <TextField
            label={rigWords.baudRate}
            kind="number"
            value={draft.baudRate}
            {...(props.load === null ? {} : { hint: portWords.load(props.load) })}
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

/** A pause in typing after which the host is asked what the line carries, ms. */
const typingMilliseconds = 250;

/** What the host says of an instrument on its line; null while it has not, and where it does not. */
function useLine(ask: LineAsk | null, actions: PortActions): LineView | null {
  const [said, setSaid] = useState<{ readonly of: string; readonly line: LineView | null } | null>(null);
  const of = JSON.stringify(ask);
  useEffect(() => {
    if (ask === null) return undefined;
    let left = false;
    const asking = setTimeout(() => {
      void actions.line(ask).then((line) => {
        if (!left) setSaid({ of, line });
      });
    }, typingMilliseconds);
    return () => {
      left = true;
      clearTimeout(asking);
    };
    // `of` is what is asked.
  }, [of, actions]);
  return said?.of === of ? said.line : null;
}

/** Where an instrument is connected, and on a serial line: whether that carries it, and which ports there are. */
export function InstrumentConnection(props: {
  readonly instrument: Pick<InstrumentConfiguration, 'kind' | 'dialect' | 'settings'>;
  readonly draft: ConnectionDraft;
  readonly problems: Problems;
  readonly before: string;
  readonly known: KnownPorts;
  readonly actions: PortActions;
  readonly mayBeNone: boolean;
  readonly onChange: (draft: ConnectionDraft) => void;
}): ReactElement {
  const { actions, before, draft, known, problems } = props;
  const { dialect, kind, settings } = props.instrument;
  const baudRate = readNumber(draft.baudRate);
  const canAsk = draft.kind === 'serial' && baudRate !== null && Number.isInteger(baudRate) && baudRate >= 50;
  const ask: LineAsk | null = canAsk ? { kind, dialect, settings, baudRate } : null;
  const line = useLine(ask, actions);
  return (
    <>
      <ConnectionFields
        draft={draft}
        problems={problems}
        before={before}
        offered={known.offered?.ports ?? null}
        load={line?.load ?? null}
        mayBeNone={props.mayBeNone}
        onChange={props.onChange}
      />
      {line !== null && line.overload !== null && (
        <p className="offered-warning">{portWords.overload(line.overload)}</p>
      )}
      {draft.kind === 'serial' && draft.identity !== null && (
        <p className="offered-remembered">
          <span>{portWords.remembered(identityWords(draft.identity))}</span>
          <Button
            small
            onPress={() => {
              props.onChange({ ...draft, identity: null });
            }}
          >
            {portWords.byName}
          </Button>
        </p>
      )}
      {draft.kind === 'serial' && (
        <FindPort
          {...{ known, ask, line, actions }}
          taken={draft}
          onTake={(path, identity) => {
            props.onChange({ ...draft, path, identity });
          }}
        />
      )}
    </>
  );
}

/** Says where one instrument is connected. */
export function ConnectionForm(props: {
  readonly title: string;
  readonly settings: ConnectionSettings | null;
  readonly instrument: Pick<InstrumentConfiguration, 'kind' | 'dialect' | 'settings'>;
  readonly actions: PortActions;
  readonly busy: boolean;
  readonly onUse: (settings: ConnectionSettings) => void;
  readonly onCancel: () => void;
}): ReactElement {
  const known = useOfferedPorts(props.actions.offeredPorts);
  const [draft, setDraft] = useState<ConnectionDraft>(() => {
    const now = connectionDraft(props.settings);
    return now.kind === 'none' ? { ...now, kind: 'serial' } : now;
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
      <InstrumentConnection
        {...{ draft, known }}
        instrument={props.instrument}
        problems={shown ? read.problems : new Map()}
        before=""
        actions={props.actions}
        mayBeNone={false}
        onChange={setDraft}
      />
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
