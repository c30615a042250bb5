import type { ReactElement } from 'react';
import { useState } from 'react';
import { certificateDoubt } from '../../src/calibration/register/certificate-doubt.ts';
import { daysLeft, standingCertificates } from '../../src/calibration/register/register.ts';
import type { RegisteredEntry } from '../../src/calibration/register/register.ts';
import { quantityFacts } from '../../src/model/certificate.ts';
import type { Certificate } from '../../src/model/certificate.ts';
import { ChoiceField, TextField } from '../ui/field.tsx';
import { registerWords as words } from '../words/register.ts';
import { PutDownForm } from './put-down-form.tsx';
import type { PutDownProps } from './put-down-form.tsx';
import { certificateDraft, quantitiesOf, readCertificate } from './register-draft.ts';
import type { CertificateDraft } from './register-draft.ts';

/** One value of a certificate, as it is printed; what follows from it is said while it is typed. */
export function CertificateForm(
  props: PutDownProps & {
    readonly of: RegisteredEntry;
    /** One that it is like: it was withdrawn because something in it was wrong. */
    readonly like: Certificate | null;
    readonly now: number;
  },
): ReactElement {
  const { of } = props;
  const [draft, setDraft] = useState<CertificateDraft>(() => certificateDraft(of.kind, props.like));
  const [shown, setShown] = useState(false);
  const read = readCertificate(draft, of);
  const facts = quantityFacts[draft.quantity];
  const field = (name: keyof CertificateDraft) => ({
    value: draft[name],
    problem: shown ? read.problems.get(name) : undefined,
    onChange: (value: string) => setDraft({ ...draft, [name]: value }),
  });
  const unit = facts.unit === null && draft.unit.trim() !== '' ? draft.unit.trim() : undefined;
  return (
    <PutDownForm
      {...props}
      title={words.enterTitle(of.instrument)}
      read={() => {
        setShown(true);
        return read.entry;
      }}
    >
      <div className="register-pair">
        <TextField label={words.fields.number} autoFocus {...field('number')} />
        <TextField label={words.fields.issuer} {...field('issuer')} />
      </div>
      <div className={facts.unit === null ? 'register-pair' : undefined}>
        <ChoiceField
          label={words.fields.quantity}
          hint={`${facts.words}. ${facts.counts ? words.counts : words.countsNot}`}
          value={draft.quantity}
          choices={quantitiesOf(of.kind).map((quantity) => ({ value: quantity, text: words.quantity(quantity) }))}
          onChange={(quantity) =>
            setDraft({ ...draft, quantity, unit: quantityFacts[quantity].unit ?? draft.unit.replace(/^1$/, '') })
          }
        />
        {facts.unit === null && (
          <TextField label={words.fields.unit} hint={words.fields.unitHint} {...field('unit')} />
        )}
      </div>
      <div className="register-four">
        <TextField label={words.fields.value} kind="number" unit={unit} {...field('value')} />
        <TextField
          label={words.fields.expandedUncertainty}
          kind="number"
          unit={unit}
          {...field('expandedUncertainty')}
        />
        <TextField label={words.fields.coverageFactor} kind="number" {...field('coverageFactor')} />
        <TextField label={words.fields.coveragePercent} kind="number" unit="%" {...field('coveragePercent')} />
      </div>
      <p className="quiet">{words.fields.coverageHint}</p>
      <div className="register-pair">
        <TextField label={words.fields.issuedOn} hint={words.fields.dayHint} {...field('issuedOn')} />
        <TextField label={words.fields.validUntil} hint={words.fields.lastDayHint} {...field('validUntil')} />
      </div>
      <ul className="register-follows" aria-live="polite">
        {read.certificate !== null &&
          consequences(read.certificate, of, props.now).map((sentence) => <li key={sentence}>{sentence}</li>)}
        <li className="quiet">{words.file}</li>
      </ul>
    </PutDownForm>
  );
}

/** What follows from a certificate once it stands in the register, each a sentence. */
function consequences(certificate: Certificate, of: RegisteredEntry, now: number): string[] {
  const { standardUncertainty, degreesOfFreedom } = certificateDoubt(certificate);
  const left = daysLeft(certificate.validUntil, now);
  const counting = standingCertificates(of, now).find(
    ({ kept }) => kept?.certificate.quantity === certificate.quantity,
  )?.kept;
  const sentences = [words.doubt(standardUncertainty, degreesOfFreedom, certificate.unit)];
  sentences.push(left < 0 ? words.endedAlready : `${words.holds(left)}`);
  if (counting != null) {
    const { issuedOn, number } = counting.certificate;
    sentences.push(issuedOn > certificate.issuedOn ? words.otherCounts(number, issuedOn) : words.replaces(number));
  }
  return sentences;
}
