import type { ReactElement } from 'react';
import { useRef, useState } from 'react';
import type { ConnectionSettings, Failure } from '../../src/bridge/snapshot.ts';
import { transitRemarks } from '../../src/calibration/line-words.ts';
import { putsLoad } from '../../src/model/rig.ts';
import type { Rig } from '../../src/model/rig.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { FieldProblem } from '../ui/field-problem.ts';
import { TextField, TickField, WireText } from '../ui/field.tsx';
import { fieldProblemWords } from '../words/field-problems.ts';
import { editorWords, rigWords } from '../words/rig.ts';
import { watchWords } from '../words/watch.ts';
import { AddInstrument } from './add-instrument.tsx';
import type { OfferedDialect } from './add-instrument.tsx';
import { InstrumentConnection } from './connection-form.tsx';
import type { PortActions } from './find-port.tsx';
import { useOfferedPorts } from './find-port.tsx';
import { PortTable } from './port-table.tsx';
import type { InstrumentDraft, Problems, RigDraft, StatedDraft } from './rig-draft.ts';
import { anotherInstrument, mayBeRemoved, readRigDraft, rigDraft, typedSettings } from './rig-draft.ts';
import type { OfferedStream } from './watch-draft.ts';
import { WatchEditor } from './watch-editor.tsx';
import { TransitRemarks } from './transit-remarks.tsx';
import { isSoftwarePort } from './software-port.ts';
import './rig-editor.css';

const stated = ['commonTransitSeconds', 'timeConstantSeconds', 'instrumentDelaySeconds', 'spatialFactor'] as const;
const plain = ['commonDispersionSeconds', 'valveSwitchingSeconds', 'saturation'] as const;

/** What is said of the whole, and of what the form only hands on: it has no field to stand beside. */
const withoutField =
  /^(ports|watch|photometer|photometerStream|selectorValve|heartRate|instruments(\.\d+\.(instrument|kind|dialect))?)$/;

/** Where what is said of the whole belongs; otherwise to the instruments. */
const wholeNames: Readonly<Record<string, string>> = { ports: editorWords.ports, watch: watchWords.heading };

/** Everything about a rig that a result rests on, as fields: problems stand beside the field they are about. */
export function RigEditor(props: {
  readonly rig: Rig;
  readonly first: boolean;
  /** Streams of the rig that is open: what limits can be set for. */
  readonly streams: readonly OfferedStream[];
  readonly connections: ReadonlyMap<string, ConnectionSettings>;
  readonly ports: PortActions;
  readonly askDialects: () => Promise<readonly OfferedDialect[]>;
  readonly busy: boolean;
  readonly failure: Failure | null;
  readonly onSave: (rig: Rig, connections: ReadonlyMap<string, ConnectionSettings>) => void;
  readonly onCancel: () => void;
}): ReactElement {
  const [draft, setDraft] = useState<RigDraft>(() => rigDraft(props.rig, props.connections));
  const [shown, setShown] = useState(false);
  const known = useOfferedPorts(props.ports.offeredPorts);
  const form = useRef<HTMLFormElement>(null);
  const read = readRigDraft(draft);
  const problems: Problems = shown ? read.problems : new Map();
  const problem = (path: string): { problem?: FieldProblem } => {
    const found = problems.get(path);
    return found === undefined ? {} : { problem: found };
  };
  const setInstrument = (index: number, change: Partial<InstrumentDraft>): void => {
    setDraft({
      ...draft,
      instruments: draft.instruments.map((one, at) => (at === index ? { ...one, ...change } : one)),
    });
  };
  const whole = [...problems].filter(([path]) => withoutField.test(path));
  return (
    <form
      ref={form}
      className="rig-editor"
      noValidate
      aria-label={editorWords.title(props.first)}
      onSubmit={(event) => {
        event.preventDefault();
        setShown(true);
        if (read.rig !== null) props.onSave(read.rig, read.connections);
        // The first field that keeps it from being saved is where the work is.
        else requestAnimationFrame(() => form.current?.querySelector<HTMLElement>('[aria-invalid]')?.focus());
      }}
    >
      <div className="editor-parts" tabIndex={0} role="group" aria-label={editorWords.title(props.first)}>
        <section className="panel editor-head">
          <div className="grow">
            <h1>{editorWords.title(props.first)}</h1>
            <p className="quiet">{editorWords.lead}</p>
          </div>
          <TextField
            label={editorWords.name}
            value={draft.name}
            {...problem('name')}
            onChange={(name) => {
              setDraft({ ...draft, name });
            }}
          />
          <TickField
            label={editorWords.virtual}
            hint={
              !draft.virtual && [...read.connections.values()].some(isSoftwarePort)
                ? editorWords.softwarePort
                : editorWords.virtualHint
            }
            value={draft.virtual}
            onChange={(virtual) => {
              setDraft({ ...draft, virtual });
            }}
          />
        </section>
        <section className="panel" aria-label={editorWords.instruments}>
          <h2>{editorWords.instruments}</h2>
          <div className="editor-instruments">
            {draft.instruments.map((one, index) => (
              <fieldset key={one.instrument}>
                <legend>
                  <b>{rigWords.kind[one.kind] ?? one.instrument}</b> <span>{editorWords.dialect(one.dialect)}</span>
                </legend>
                <InstrumentConnection
                  instrument={{ kind: one.kind, dialect: one.dialect, settings: typedSettings(one.settings) }}
                  draft={one.connection}
                  problems={problems}
                  before={`instruments.${index}.connection.`}
                  known={known}
                  actions={props.ports}
                  mayBeNone
                  onChange={(connection) => {
                    setInstrument(index, { connection });
                  }}
                />
                <WireText
                  label={editorWords.settings}
                  hint={editorWords.settingsHint}
                  rows={4}
                  value={one.settings}
                  {...problem(`instruments.${index}.settings`)}
                  onChange={(settings) => {
                    setInstrument(index, { settings });
                  }}
                />
                {mayBeRemoved(draft, one.instrument) && (
                  <Button
                    small
                    onPress={() => {
                      setDraft({ ...draft, instruments: draft.instruments.filter((other) => other !== one) });
                    }}
                  >
                    {editorWords.remove(one.instrument)}
                  </Button>
                )}
              </fieldset>
            ))}
          </div>
          <AddInstrument
            askDialects={props.askDialects}
            onAdd={(kind, dialect) => {
              const added = anotherInstrument(draft.instruments, kind, dialect);
              setDraft({ ...draft, instruments: [...draft.instruments, added] });
            }}
          />
        </section>
        <section className="panel" aria-label={editorWords.ports}>
          <h2>{editorWords.ports}</h2>
          <p className="quiet">{editorWords.portsText}</p>
          <PortTable
            ports={draft.ports}
            problems={problems}
            onChange={(ports) => {
              setDraft({ ...draft, ports });
            }}
          />
          {read.rig !== null && <TransitRemarks remarks={transitRemarks(read.rig)} />}
        </section>
        <section className="panel" aria-label={watchWords.heading}>
          <h2>{watchWords.heading}</h2>
          <p className="quiet">{watchWords.lead}</p>
          <WatchEditor
            watch={draft.watch}
            offered={props.streams}
            problems={problems}
            onChange={(watch) => {
              setDraft({ ...draft, watch });
            }}
          />
        </section>
        <section className="panel" aria-label={editorWords.numbers}>
          <h2>{editorWords.numbers}</h2>
          <div className="editor-numbers">
            {stated.map((field) => (
              <StatedFields
                key={field}
                label={editorWords[field]}
                unit={field === 'spatialFactor' ? undefined : editorWords.seconds}
                draft={draft[field]}
                problems={problems}
                path={field}
                onChange={(next) => {
                  setDraft({ ...draft, [field]: next });
                }}
              />
            ))}
            {plain.map((field) => (
              <TextField
                key={field}
                label={editorWords[field]}
                kind="number"
                unit={field === 'saturation' ? undefined : editorWords.seconds}
                value={draft[field]}
                {...problem(field)}
                onChange={(value) => {
                  setDraft({ ...draft, [field]: value });
                }}
              />
            ))}
            <TextField
              label={editorWords.nominal}
              kind="number"
              value={draft.challenge.nominal}
              {...problem('challenge.nominal')}
              onChange={(nominal) => {
                setDraft({ ...draft, challenge: { ...draft.challenge, nominal } });
              }}
            />
            <TextField
              label={editorWords.agent}
              value={draft.challenge.agent}
              {...problem('challenge.agent')}
              onChange={(agent) => {
                setDraft({ ...draft, challenge: { ...draft.challenge, agent } });
              }}
            />
            <TextField
              label={editorWords.exchange}
              kind="number"
              unit={editorWords.seconds}
              value={draft.challenge.exchangeSeconds}
              {...problem('challenge.exchangeSeconds')}
              onChange={(exchangeSeconds) => {
                setDraft({ ...draft, challenge: { ...draft.challenge, exchangeSeconds } });
              }}
            />
            <TextField
              label={editorWords.lineFlow}
              kind="number"
              unit={editorWords.litresPerMinute}
              value={draft.lineLitresPerMinute}
              {...problem('lineLitresPerMinute')}
              onChange={(lineLitresPerMinute) => {
                setDraft({ ...draft, lineLitresPerMinute });
              }}
            />
            <TickField
              label={editorWords.bypass}
              value={draft.bypass}
              onChange={(bypass) => {
                setDraft({ ...draft, bypass });
              }}
            />
            {draft.instruments.some(({ kind }) => putsLoad(kind)) && (
              <TickField
                label={editorWords.guardLoad}
                value={draft.guard.load}
                onChange={(load) => {
                  setDraft({ ...draft, guard: { ...draft.guard, load } });
                }}
              />
            )}
            <TickField
              label={editorWords.guardValve}
              value={draft.guard.valve}
              onChange={(valve) => {
                setDraft({ ...draft, guard: { ...draft.guard, valve } });
              }}
            />
          </div>
        </section>
      </div>
      <footer className="panel editor-foot">
        <div className="grow" role="alert">
          {problems.size > 0 && <p className="field-problem">{editorWords.problems(problems.size)}</p>}
          {whole.map(([path, one]) => (
            <p key={path} className="field-problem">
              {wholeNames[path] ?? editorWords.instruments}: {fieldProblemWords(one)}
            </p>
          ))}
          {props.failure !== null && <FailureBlock failure={props.failure} />}
        </div>
        <Button hotkey="Esc" onPress={props.onCancel}>
          {editorWords.cancel}
        </Button>
        <Button submit lit disabled={props.busy}>
          {props.busy ? editorWords.saving : editorWords.save}
        </Button>
      </footer>
    </form>
  );
}

/** A value and its standard uncertainty, side by side. */
function StatedFields(props: {
  readonly label: string;
  readonly unit: string | undefined;
  readonly draft: StatedDraft;
  readonly problems: Problems;
  readonly path: string;
  readonly onChange: (draft: StatedDraft) => void;
}): ReactElement {
  const value = props.problems.get(`${props.path}.value`);
  const uncertainty = props.problems.get(`${props.path}.standardUncertainty`);
  return (
    <div className="stated">
      <TextField
        label={props.label}
        kind="number"
        unit={props.unit}
        value={props.draft.value}
        {...(value === undefined ? {} : { problem: value })}
        onChange={(text) => {
          props.onChange({ ...props.draft, value: text });
        }}
      />
      <TextField
        label={editorWords.uncertainty}
        kind="number"
        unit={props.unit}
        value={props.draft.standardUncertainty}
        {...(uncertainty === undefined ? {} : { problem: uncertainty })}
        onChange={(text) => {
          props.onChange({ ...props.draft, standardUncertainty: text });
        }}
      />
    </div>
  );
}
