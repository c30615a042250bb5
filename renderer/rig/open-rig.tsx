import type { ReactElement } from 'react';
import { useState } from 'react';
import type { InstrumentState, Snapshot } from '../../src/bridge/snapshot.ts';
import { standingsOf } from '../../src/calibration/check/standing.ts';
import { transitRemarks } from '../../src/calibration/line-words.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { StreamDescriptor } from '../../src/model/stream.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { useHotkey } from '../ui/use-hotkey.ts';
import { usePerform } from '../ui/use-perform.ts';
import { readingText } from '../words/numbers.ts';
import { rigWords } from '../words/rig.ts';
import { AirPath } from './air-path.tsx';
import { CheckDesk } from './checks/check-desk.tsx';
import { CheckList } from './checks/check-list.tsx';
import type { Chosen } from './checks/desk-state.ts';
import { ConnectionForm } from './connection-form.tsx';
import { InstrumentCard, instrumentName } from './instrument-card.tsx';
import { PhotometerBox } from './photometer-box.tsx';
import { RigVersions } from './rig-versions.tsx';
import { ReadinessBox } from './readiness-box.tsx';
import { TransitRemarks } from './transit-remarks.tsx';
import { trialReadiness } from './readiness.ts';
import type { LiveReadings, RigActions } from './rig-actions.ts';
import { WireMonitor } from './wire/wire-monitor.tsx';

const digits = ['1', '2', '3', '4', '5', '6', '7', '8', '9'] as const;

/** The open rig: its air path, its instruments, its checks, and whether a trial can start on it. */
export function OpenRig(props: {
  readonly snapshot: Snapshot;
  readonly rig: Rig;
  /** A check that is looked at; null: the rig as a whole. */
  readonly chosen: { readonly check: string; readonly subject: string | null } | null;
  readonly onChoose: (chosen: Chosen | null) => void;
  readonly actions: RigActions;
  readonly live: LiveReadings;
  readonly onChange: () => void;
}): ReactElement {
  const { snapshot, rig, actions, live } = props;
  const state = snapshot.rig;
  const { trial } = snapshot;
  const [byHand, setByHand] = useState(false);
  const [comparing, setComparing] = useState(false);
  const [watched, setWatched] = useState<string | null>(null);
  const { busy, failure, perform } = usePerform();
  const mayTurn = (trial === null || trial.allowed.includes('valve')) && state.checks.running === null;
  const turning = byHand && mayTurn;
  const select = (port: number): void => {
    perform(() => actions.selectPort(port));
  };
  const photometerStream = state.streams.findIndex(
    ({ instrument, stream }) => instrument === rig.photometer && stream === rig.photometerStream,
  );
  const photometer = state.streams[photometerStream];
  const show = (value: number): string => readingText(photometer, value);
  const nameOf = (instrument: string): string => {
    const found = state.instruments.find((one) => one.instrument === instrument);
    return found === undefined ? instrument : instrumentName(found);
  };
  const standings = standingsOf(rig, state.checks.results, actions.now());
  // An address may name what this rig has not: then it is the rig that is shown.
  const { check, subject } = props.chosen ?? { check: null, subject: null };
  const chosen = standings.find((one) => one.check === check && one.subject === subject);
  if (chosen !== undefined) {
    return (
      <CheckDesk
        snapshot={snapshot}
        rig={rig}
        standing={chosen}
        standings={standings}
        actions={actions}
        live={live}
        onChoose={props.onChoose}
        onBack={() => {
          props.onChoose(null);
        }}
      />
    );
  }
  if (comparing) {
    return (
      <RigVersions name={rig.name} open={rig.version} actions={actions} onBack={() => setComparing(false)} />
    );
  }
  const watchedState = state.instruments.find(({ instrument }) => instrument === watched);
  if (watchedState !== undefined) {
    return (
      <WireMonitor
        instruments={state.instruments}
        watched={watchedState}
        actions={actions}
        onWatch={setWatched}
        onBack={() => {
          setWatched(null);
        }}
      />
    );
  }
  return (
    <main className="rig open-rig">
      <div className="open-rig-left">
        <section className="panel open-rig-path" aria-label={rigWords.airPath}>
          <header>
            <h1>{rig.name}</h1>
            <span className="quiet grow">
              {rigWords.version(rig.version)}, {rigWords.stored}
            </span>
            {turning && <span role="status">{rigWords.byHandOn}</span>}
            <Button
              small
              hotkey="V"
              lit={turning}
              disabled={!mayTurn}
              onPress={() => {
                setByHand(!byHand);
              }}
            >
              {!mayTurn && trial !== null ? rigWords.byHandTrial : turning ? rigWords.byHandEnd : rigWords.byHand}
            </Button>
            {state.virtualRig === null && (
              <Button small onPress={() => setComparing(true)}>
                {rigWords.versions}
              </Button>
            )}
            {state.virtualRig === null && trial === null && (
              <Button small hotkey="E" onPress={props.onChange}>
                {rigWords.change}
              </Button>
            )}
            <Button
              small
              disabled={trial !== null || busy}
              onPress={() => {
                perform(actions.close);
              }}
            >
              {trial === null ? rigWords.close : rigWords.closeTrial}
            </Button>
          </header>
          {failure !== null && <FailureBlock failure={failure} />}
          {turning &&
            digits.map((digit) => (
              <PortKey key={digit} digit={digit} known={rig.ports.map(({ port }) => port)} onSelect={select} />
            ))}
          <AirPath
            rig={rig}
            state={state}
            onSelectPort={turning ? select : null}
            photometer={
              <PhotometerBox
                state={state.instruments.find(({ instrument }) => instrument === rig.photometer) ?? null}
                flows={state.valve.state === 'confirmed'}
                reading={live.newest(photometerStream)}
                perSecond={live.perSecond(photometerStream)}
                show={show}
                rig={rig}
              />
            }
          />
          <TransitRemarks remarks={transitRemarks(rig)} />
        </section>
        <Instruments snapshot={snapshot} rig={rig} actions={actions} live={live} onWatch={setWatched} />
      </div>
      <div className="open-rig-right">
        <CheckList
          standings={standings}
          checks={state.checks}
          version={rig.version}
          now={actions.now()}
          onOpen={props.onChoose}
        />
        <ReadinessBox
          readiness={trialReadiness(snapshot, actions.now())}
          nameOf={nameOf}
          onPlan={actions.toPlan}
          onPerson={actions.toPerson}
        />
      </div>
    </main>
  );
}

function PortKey(props: {
  readonly digit: string;
  readonly known: readonly number[];
  readonly onSelect: (port: number) => void;
}): null {
  const port = Number(props.digit);
  useHotkey(
    props.digit,
    () => {
      props.onSelect(port);
    },
    props.known.includes(port),
  );
  return null;
}

/** A card for each instrument; the form for a connection takes the place of the cards while it is filled in. */
function Instruments(props: {
  readonly snapshot: Snapshot;
  readonly rig: Rig;
  readonly actions: RigActions;
  readonly live: LiveReadings;
  readonly onWatch: (instrument: string) => void;
}): ReactElement {
  const { actions, live, rig } = props;
  const state = props.snapshot.rig;
  const [connecting, setConnecting] = useState<string | null>(null);
  const [asked, setAsked] = useState<string | null>(null);
  const { busy, failure, perform } = usePerform();
  const target = state.instruments.find(({ instrument }) => instrument === connecting);
  if (target !== undefined) {
    return (
      <section className="panel open-rig-connect">
        {failure !== null && <FailureBlock failure={failure} />}
        <ConnectionForm
          title={rigWords.connectTitle(instrumentName(target))}
          settings={target.settings}
          instrument={{ ...target, settings: settingsIn(rig, target.instrument) }}
          actions={actions}
          busy={busy}
          onUse={(settings) => {
            perform(
              () => actions.connect(target.instrument, settings),
              () => {
                setConnecting(null);
              },
            );
          }}
          onCancel={() => {
            setConnecting(null);
          }}
        />
      </section>
    );
  }
  return (
    <section className="cards" aria-label={rigWords.instruments}>
      {state.instruments.map((one) => {
        const stream = mainStream(state.streams, one, rig);
        return (
          <InstrumentCard
            key={one.instrument}
            state={one}
            virtual={state.virtualRig !== null}
            busy={busy}
            failure={asked === one.instrument ? failure : null}
            value={
              one.kind === 'contact'
                ? contactsText(state.streams, one.instrument, live)
                : newestText(stream === null ? undefined : state.streams[stream], live.newest(stream ?? -1))
            }
            signal={
              stream === null ? (
                <p className="quiet">{rigWords.noStream}</p>
              ) : (
                live.signal(stream, rigWords.lastMinute(instrumentName(one)))
              )
            }
            onRetry={() => {
              setAsked(one.instrument);
              perform(() => actions.retry(one.instrument));
            }}
            onConnect={() => {
              setConnecting(one.instrument);
            }}
            onWatch={() => {
              props.onWatch(one.instrument);
            }}
          />
        );
      })}
    </section>
  );
}

/** Settings of the dialect, as the rig states them. */
function settingsIn(rig: Rig, instrument: string): Record<string, unknown> {
  return rig.instruments.find((one) => one.instrument === instrument)?.settings ?? {};
}

/** The stream that stands for an instrument: that of the photometer by name, else the first that it gives. */
function mainStream(streams: readonly StreamDescriptor[], instrument: InstrumentState, rig: Rig): number | null {
  const own = (one: StreamDescriptor): boolean => one.instrument === instrument.instrument;
  const named = streams.findIndex(
    (one) => own(one) && instrument.instrument === rig.photometer && one.stream === rig.photometerStream,
  );
  const found = named >= 0 ? named : streams.findIndex(own);
  return found >= 0 ? found : null;
}

/** All contacts of an instrument in words; null before the first reading. */
function contactsText(streams: readonly StreamDescriptor[], instrument: string, live: LiveReadings): string | null {
  const words = streams.flatMap((stream, index) => {
    const value = stream.instrument === instrument ? live.newest(index) : null;
    return value === null ? [] : [rigWords.contact(stream.stream, value)];
  });
  return words.length === 0 ? null : words.join(' · ');
}

function newestText(stream: StreamDescriptor | undefined, value: number | null): string | null {
  return stream === undefined || value === null ? null : readingText(stream, value);
}
