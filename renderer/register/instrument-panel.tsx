import type { ReactElement } from 'react';
import type { InstrumentHistory } from '../../src/bridge/register.ts';
import { daysLeft } from '../../src/calibration/register/register.ts';
import type { KeptCertificate, RegisteredEntry } from '../../src/calibration/register/register.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { registerWords as words } from '../words/register.ts';
import { DriftChart } from './drift-chart.tsx';
import { certificateLines } from './register-rows.ts';
import { StandingMark } from './standing-mark.tsx';
import { ValidityBar } from './validity-bar.tsx';

/** One instrument: its certificates, what checks have shown of it, and every record. */
export function InstrumentPanel(props: {
  readonly entry: RegisteredEntry;
  /** Null: being read. */
  readonly history: Outcome<InstrumentHistory> | null;
  readonly now: number;
  /** The next thing to do is a certificate. */
  readonly wanted: boolean;
  readonly onEnter: () => void;
  readonly onPlace: () => void;
  readonly onCorrect: () => void;
  readonly onRetire: () => void;
  readonly onWithdraw: (kept: KeptCertificate) => void;
}): ReactElement {
  const { entry, history, now } = props;
  const { instrument, kind, maker, model, placed, retired, serial } = entry;
  const lines = certificateLines(entry, now);
  return (
    <>
      <header className="register-head">
        <div>
          <h2>
            {instrument} <span className="quiet">{words.kind(kind)}</span>
          </h2>
          <p>{`${maker}, ${model}, ${serial}`}</p>
          <p className="quiet">{placed === null ? words.nowhere : words.place(placed.rig, placed.at)}</p>
        </div>
        {retired === null ? (
          <div className="register-do">
            <Button small lit={props.wanted} hotkey="K" onPress={props.onEnter}>
              {words.enter}
            </Button>
            <Button small hotkey="P" onPress={props.onPlace}>
              {words.move}
            </Button>
            <Button small onPress={props.onCorrect}>
              {words.correct}
            </Button>
            <Button small onPress={props.onRetire}>
              {words.retire}
            </Button>
          </div>
        ) : (
          <p className="flag">{words.record({ entry: 'retired', instrument, reason: retired })}</p>
        )}
      </header>
      <section>
        <h3>{words.certificates}</h3>
        {lines.length === 0 && <p className="quiet">{words.noCertificate}</p>}
        <ul className="register-certificates">
          {lines.map(({ kept, standing }) => {
            const { certificate, record, withdrawn } = kept;
            return (
              <li key={record} className={standing === null ? 'register-old' : undefined}>
                <div>
                  <b>{certificate.number}</b> {words.quantity(certificate.quantity)}
                </div>
                {standing === null ? (
                  <span className="quiet">
                    {withdrawn === null ? words.replaced : words.withdrawnBecause(withdrawn)}
                  </span>
                ) : (
                  <StandingMark standing={standing} />
                )}
                <div>{words.states(certificate)}</div>
                <span className="register-days">
                  {standing !== null && words.daysLeft(daysLeft(certificate.validUntil, now))}
                </span>
                <div className="quiet">
                  {words.issued(certificate.issuer, certificate.issuedOn)}, {words.until(certificate.validUntil)}
                  {certificate.file !== undefined &&
                    `; ${words.attached(certificate.file.name, certificate.file.bytes)}`}
                </div>
                {standing !== null && (
                  <div className="register-line-do">
                    <ValidityBar issuedOn={certificate.issuedOn} validUntil={certificate.validUntil} now={now} />
                    {retired === null && (
                      <Button
                        small
                        label={words.withdrawLabel(certificate.number, certificate.quantity)}
                        onPress={() => props.onWithdraw(kept)}
                      >
                        {words.withdraw}
                      </Button>
                    )}
                  </div>
                )}
              </li>
            );
          })}
        </ul>
      </section>
      {history !== null && !history.done && <FailureBlock failure={history.failure} />}
      {history?.done === true && (
        <>
          <section>
            <h3>{words.checks}</h3>
            {history.value.unreadable.length > 0 && (
              <p className="flag register-nobody">{words.unreadable(history.value.unreadable)}</p>
            )}
            {history.value.courses.length === 0 ? (
              <p className="quiet">{words.noChecks(placed !== null)}</p>
            ) : (
              <ul className="drifts">
                {history.value.courses.map((course) => (
                  <DriftChart
                    key={`${course.rig} ${course.check} ${course.line ?? ''}`}
                    course={course}
                    now={now}
                  />
                ))}
              </ul>
            )}
          </section>
          <section>
            <h3>{words.records}</h3>
            <ol className="register-records">
              {[...history.value.records].reverse().map(({ at, entry: said, number, person }) => (
                <li key={number}>
                  <span className="register-number">{number}</span>
                  <span>{words.record(said)}</span>
                  <span className="quiet">{words.by(at, person)}</span>
                </li>
              ))}
            </ol>
          </section>
        </>
      )}
    </>
  );
}
