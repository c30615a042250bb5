import type { ReactElement } from 'react';
import { daysLeft } from '../../src/calibration/register/register.ts';
import type { RegisteredEntry } from '../../src/calibration/register/register.ts';
import { Button } from '../ui/button.tsx';
import { Icon } from '../ui/icon.tsx';
import { registerWords as words } from '../words/register.ts';
import { countsOf } from './register-rows.ts';
import type { RegisterRow } from './register-rows.ts';
import { StandingMark } from './standing-mark.tsx';
import { ValidityBar } from './validity-bar.tsx';

/** What the laboratory has, what has to be done first at the top. */
export function RegisterList(props: {
  readonly rows: readonly RegisterRow[];
  readonly gone: readonly RegisteredEntry[];
  /** Numbers of records that are not what was stored. */
  readonly altered: readonly number[];
  readonly chosen: string | null;
  /** There is nothing yet: adding is the next thing to do. */
  readonly lit: boolean;
  readonly now: number;
  readonly underTrial: boolean;
  readonly onChoose: (instrument: string) => void;
  readonly onAdd: () => void;
  readonly onReadAgain: () => void;
}): ReactElement {
  const { altered, gone, rows } = props;
  const counts = countsOf(rows);
  return (
    <section className="panel register-list" aria-label={words.list} tabIndex={0}>
      <header>
        <h1>{words.title}</h1>
        <Button small onPress={props.onReadAgain}>
          {words.readAgain}
        </Button>
        <Button small lit={props.lit} hotkey="N" onPress={props.onAdd}>
          {words.add}
        </Button>
      </header>
      {altered.length > 0 && (
        <div className="failure" role="alert">
          <Icon name="break" />
          <p>
            <b>{words.altered(altered)}</b>
            <br />
            {words.alteredMore}
          </p>
        </div>
      )}
      {props.underTrial && <p className="quiet">{words.trialKeeps}</p>}
      {rows.length === 0 && gone.length === 0 ? (
        <div className="register-empty">
          <h2>{words.empty}</h2>
          <p className="quiet">{words.emptyMore}</p>
        </div>
      ) : (
        <ul className="checks-counts">
          {(['late', 'soon', 'valid', 'none'] as const).map((which) => (
            <li key={which}>
              <b>{counts[which]}</b>
              <span>{words.tally[which]}</span>
            </li>
          ))}
        </ul>
      )}
      <ul className="register-rows">
        {rows.map((row) => (
          <li key={row.entry.instrument}>
            <Row row={row} here={row.entry.instrument === props.chosen} now={props.now} onChoose={props.onChoose} />
          </li>
        ))}
      </ul>
      {rows.length > 0 && <p className="quiet">{words.barHint}</p>}
      {gone.length > 0 && (
        <>
          <h2 className="register-gone">{words.gone}</h2>
          <ul className="register-rows">
            {gone.map(({ instrument, kind, retired }) => (
              <li key={instrument}>
                <button
                  type="button"
                  className="register-row"
                  aria-pressed={instrument === props.chosen}
                  onClick={() => props.onChoose(instrument)}
                >
                  <span>
                    <b>{instrument}</b> {words.kind(kind)}
                  </span>
                  <span className="quiet register-row-place">{retired}</span>
                </button>
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}

function Row(props: {
  readonly row: RegisterRow;
  readonly here: boolean;
  readonly now: number;
  readonly onChoose: (instrument: string) => void;
}): ReactElement {
  const { entry, lines } = props.row;
  const { instrument, kind, placed } = entry;
  return (
    <button
      type="button"
      className="register-row"
      aria-pressed={props.here}
      onClick={() => props.onChoose(instrument)}
    >
      <span>
        <b>{instrument}</b> {words.kind(kind)}
      </span>
      <span className="quiet register-row-place">
        {placed === null ? words.nowhere : words.place(placed.rig, placed.at)}
      </span>
      {lines.map(({ kept, standing }) => (
        <span key={kept?.record ?? 0} className="register-row-line">
          <span className="register-row-number">
            {kept === null
              ? standing === 'missing'
                ? words.noCertificate
                : words.takesNone
              : `${kept.certificate.number}, ${words.quantity(kept.certificate.quantity)}`}
          </span>
          {kept === null ? (
            <span />
          ) : (
            <ValidityBar
              issuedOn={kept.certificate.issuedOn}
              validUntil={kept.certificate.validUntil}
              now={props.now}
            />
          )}
          <span className="register-days">
            {kept !== null && words.daysLeft(daysLeft(kept.certificate.validUntil, props.now))}
          </span>
          <StandingMark standing={standing} />
        </span>
      ))}
    </button>
  );
}
