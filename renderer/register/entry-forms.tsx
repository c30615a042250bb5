import type { ReactElement } from 'react';
import { useState } from 'react';
import type { PlacingRig } from '../../src/bridge/register.ts';
import { placeFault } from '../../src/calibration/register/register.ts';
import type { KeptCertificate, RegisteredEntry } from '../../src/calibration/register/register.ts';
import { registeredKinds } from '../../src/model/certificate.ts';
import type { RegisteredPlace } from '../../src/model/certificate.ts';
import { ChoiceField, LongField, TextField, TickField } from '../ui/field.tsx';
import { registerWords as words } from '../words/register.ts';
import { PutDownForm } from './put-down-form.tsx';
import type { PutDownProps } from './put-down-form.tsx';
import { noInstrument, readInstrument } from './register-draft.ts';
import type { InstrumentDraft } from './register-draft.ts';

/** A new instrument, or other texts of one that is there. */
export function InstrumentForm(props: PutDownProps & { readonly known: RegisteredEntry | null }): ReactElement {
  const { known } = props;
  const [draft, setDraft] = useState<InstrumentDraft>(known ?? noInstrument);
  const [shown, setShown] = useState(false);
  const read = readInstrument(draft);
  const field = (name: keyof InstrumentDraft) => ({
    value: draft[name],
    problem: shown ? read.problems.get(name) : undefined,
    onChange: (value: string) => setDraft({ ...draft, [name]: value }),
  });
  return (
    <PutDownForm
      {...props}
      title={known === null ? words.addTitle : words.correctTitle(known.instrument)}
      read={() => {
        setShown(true);
        return read.entry;
      }}
    >
      {known === null ? (
        <div className="register-pair">
          <TextField
            label={words.fields.instrument}
            hint={words.fields.instrumentHint}
            autoFocus
            {...field('instrument')}
          />
          <ChoiceField
            label={words.fields.kind}
            value={draft.kind}
            choices={registeredKinds.map((kind) => ({ value: kind, text: words.kind(kind) }))}
            onChange={(kind) => setDraft({ ...draft, kind })}
          />
        </div>
      ) : (
        <p className="quiet">{words.correctHint}</p>
      )}
      <TextField label={words.fields.maker} hint={words.fields.plateHint} {...field('maker')} />
      <div className="register-pair">
        <TextField label={words.fields.model} {...field('model')} />
        <TextField label={words.fields.serial} {...field('serial')} />
      </div>
    </PutDownForm>
  );
}

const nowhere = '';

/** Where an instrument works from now on. Only what its kind can be is offered. */
export function PlaceForm(
  props: PutDownProps & { readonly of: RegisteredEntry; readonly rigs: readonly PlacingRig[] },
): ReactElement {
  const { of, rigs } = props;
  const [rig, setRig] = useState(rigs.find(({ name }) => name === of.placed?.rig)?.name ?? rigs[0]?.name ?? nowhere);
  const places = placesIn(rigs.find(({ name }) => name === rig), of);
  const present = of.placed?.rig === rig ? JSON.stringify(of.placed.at) : null;
  const [chosen, setChosen] = useState(present ?? '');
  const at = places.find((one) => JSON.stringify(one) === chosen) ?? places[0] ?? null;
  return (
    <PutDownForm
      {...props}
      title={words.moveTitle(of.instrument)}
      read={() => {
        const { instrument } = of;
        if (rig === nowhere) return { entry: 'placed', instrument, rig: null, at: null };
        return at === null ? null : { entry: 'placed', instrument, rig, at };
      }}
    >
      <ChoiceField
        label={words.fields.rig}
        value={rig}
        choices={[...rigs.map(({ name }) => ({ value: name, text: name })), { value: nowhere, text: words.nowhere }]}
        onChange={setRig}
      />
      {rig !== nowhere &&
        (at === null ? (
          <p className="flag register-nobody">{words.noPlace(words.kind(of.kind))}</p>
        ) : (
          <ChoiceField
            label={words.fields.at}
            value={JSON.stringify(at)}
            choices={places.map((one) => ({ value: JSON.stringify(one), text: words.at(one) }))}
            onChange={setChosen}
          />
        ))}
      <p className="quiet">{words.placeHint}</p>
    </PutDownForm>
  );
}

/** The places of a rig at which a kind of instrument can work. */
function placesIn(rig: PlacingRig | undefined, { kind }: RegisteredEntry): RegisteredPlace[] {
  if (rig === undefined) return [];
  const all: RegisteredPlace[] = [
    ...rig.instruments.map(({ instrument }): RegisteredPlace => ({ place: 'instrument', name: instrument })),
    ...rig.ports.map(({ probe }): RegisteredPlace => ({ place: 'port', name: probe })),
    { place: 'chamber' },
  ];
  return all.filter((at) => placeFault(kind, at, rig) === null);
}

/** Why a certificate counts no longer, or an instrument is gone. */
export function ReasonForm(
  props: PutDownProps & {
    readonly of: RegisteredEntry;
    /** The certificate that is withdrawn; null: the instrument is retired. */
    readonly withdrawn: KeptCertificate | null;
    /** The right one is entered in its place. */
    readonly onEnter: (like: KeptCertificate) => void;
  },
): ReactElement {
  const { of, withdrawn } = props;
  const [reason, setReason] = useState('');
  const [shown, setShown] = useState(false);
  const [enter, setEnter] = useState(true);
  const { instrument } = of;
  const title =
    withdrawn === null ? words.retireTitle(instrument) : words.withdrawTitle(withdrawn.certificate.number);
  return (
    <PutDownForm
      {...props}
      title={title}
      submit={withdrawn === null ? words.retire : enter ? words.withdrawAndEnter : words.withdrawOnly}
      onDone={() => {
        props.onDone();
        if (withdrawn !== null && enter) props.onEnter(withdrawn);
      }}
      read={() => {
        setShown(true);
        const why = reason.trim();
        if (why === '' || why.length > longestReason) return null;
        return withdrawn === null
          ? { entry: 'retired', instrument, reason: why }
          : { entry: 'withdrawn', instrument, record: withdrawn.record, reason: why };
      }}
    >
      <p className="quiet">{withdrawn === null ? words.retireHint : words.withdrawHint}</p>
      <LongField
        label={words.fields.reason}
        rows={3}
        value={reason}
        problem={
          !shown
            ? undefined
            : reason.trim() === ''
              ? { kind: 'empty' }
              : reason.trim().length > longestReason
                ? { kind: 'too-long', limit: longestReason }
                : undefined
        }
        onChange={setReason}
      />
      {withdrawn !== null && <TickField label={words.enterRight} value={enter} onChange={setEnter} />}
    </PutDownForm>
  );
}

/** As the register takes it. */
const longestReason = 400;
