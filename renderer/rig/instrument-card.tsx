import type { ReactElement, ReactNode } from 'react';
import type { Failure, InstrumentState } from '../../src/bridge/snapshot.ts';
import { Button } from '../ui/button.tsx';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { Icon } from '../ui/icon.tsx';
import { rigWords } from '../words/rig.ts';
import { wireWords } from '../words/wire.ts';
import './instrument-card.css';

/** How an instrument is called: its part in the rig where that has a name, else as the rig names it. */
export function instrumentName(instrument: Pick<InstrumentState, 'instrument' | 'kind'>): string {
  return rigWords.kind[instrument.kind] ?? instrument.instrument;
}

/**
 * One instrument: whether it lives, on which connection, a minute of its own signal, and the one repair when it does
 * not live.
 */
export function InstrumentCard(props: {
  readonly state: InstrumentState;
  /** Newest value with its unit; null when there is none. */
  readonly value: string | null;
  readonly signal: ReactNode;
  readonly virtual: boolean;
  readonly busy: boolean;
  readonly failure: Failure | null;
  readonly onRetry: () => void;
  readonly onConnect: () => void;
  readonly onWatch: () => void;
}): ReactElement {
  const { state } = props;
  const name = instrumentName(state);
  const live = state.state === 'live';
  const trouble = state.state !== 'live' && state.state !== 'connecting';
  const placed = state.settings !== null || props.virtual;
  return (
    <section className={trouble ? 'card card-trouble' : 'card'} aria-label={name}>
      <header>
        <h2>{name}</h2>
        <span className="card-state">
          <Icon name={live ? 'tick' : 'break'} />
          {rigWords.state[state.state]}
        </span>
      </header>
      <p className="wire">{rigWords.wire(state.connection, state.dialect)}</p>
      <p className="card-value">
        {props.value !== null && <b className={live ? undefined : 'stale'}>{props.value}</b>}
        <span className="quiet">
          {rigWords.readings(state.readings)}
          {state.problems > 0 && <>, {rigWords.problems(state.problems)}</>}
          {state.reconnects > 0 && <>, {rigWords.cameBack(state.reconnects)}</>}
        </span>
      </p>
      {state.detail !== null && <p className="card-detail">{state.detail}</p>}
      {state.remarks.map((remark) => (
        <p key={remark} className="card-detail flag">
          {remark}
        </p>
      ))}
      {props.failure !== null && <FailureBlock failure={props.failure} />}
      <div className="card-hands">
        {trouble && placed && (
          <Button small lit disabled={props.busy} onPress={props.onRetry}>
            {rigWords.retry}
          </Button>
        )}
        {!props.virtual && (
          <Button small lit={trouble && !placed} disabled={props.busy} onPress={props.onConnect}>
            {placed ? rigWords.otherPort : rigWords.connect}
          </Button>
        )}
        <Button small label={wireWords.openOf(name)} onPress={props.onWatch}>
          {wireWords.open}
        </Button>
        <CaptureMark capture={state.capture} />
      </div>
      <div className="card-signal">{props.signal}</div>
    </section>
  );
}

/** That it is captured, or that a capture stopped by itself; the rest is told where the wire is watched. */
function CaptureMark({ capture }: { readonly capture: InstrumentState['capture'] }): ReactElement | null {
  const words = capture === null ? null : wireWords.captureShort[capture.state];
  if (words === null) return null;
  return (
    <span className="card-capture">
      {capture?.state === 'stopped' && <FlagTriangle />} {words}
    </span>
  );
}
