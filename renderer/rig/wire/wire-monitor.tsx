import type { CSSProperties, ReactElement, ReactNode } from 'react';
import { useLayoutEffect, useRef, useState } from 'react';
import type { InstrumentState } from '../../../src/bridge/snapshot.ts';
import type { CaptureState, WireCounts } from '../../../src/bridge/wire.ts';
import { Button } from '../../ui/button.tsx';
import { FailureBlock } from '../../ui/failure-block.tsx';
import { FlagTriangle } from '../../ui/flag-triangle.tsx';
import { usePerform } from '../../ui/use-perform.ts';
import { useSize } from '../../ui/use-size.ts';
import { rigWords } from '../../words/rig.ts';
import { wireWords } from '../../words/wire.ts';
import { instrumentName } from '../instrument-card.tsx';
import type { RigActions } from '../rig-actions.ts';
import { useWire } from './use-wire.ts';
import { bytesPerRow, WireList } from './wire-list.tsx';
import type { WireLine } from './wire-lines.ts';
import './wire-monitor.css';

/** What goes over the wire of one instrument, as it goes. */
export function WireMonitor(props: {
  readonly instruments: readonly InstrumentState[];
  readonly watched: InstrumentState;
  readonly actions: Pick<RigActions, 'wire' | 'beginCapture' | 'endCapture'>;
  readonly onWatch: (instrument: string) => void;
  readonly onBack: () => void;
}): ReactElement {
  const { actions, watched } = props;
  const { ref, width } = useSize<HTMLDivElement>();
  const character = useRef<HTMLSpanElement>(null);
  const [perRow, setPerRow] = useState(0);
  useLayoutEffect(() => {
    const one = (character.current?.offsetWidth ?? 0) / 10;
    if (width > 0 && one > 0) setPerRow(bytesPerRow(Math.floor(width / one)));
  }, [width]);
  const seen = useWire(actions.wire, watched.instrument, perRow);
  const [held, setHeld] = useState<{ readonly lines: readonly WireLine[]; readonly newest: number } | null>(null);
  const { busy, failure, perform } = usePerform();
  const name = instrumentName(watched);
  // The answer is newer than the snapshot.
  const capture = seen.view?.capture ?? watched.capture;
  const capturing = capture?.state === 'running';
  const hold = (): void => {
    setHeld((before) => before ?? { lines: seen.lines, newest: seen.newest });
  };
  const columns: CSSProperties = { ['--per-row' as string]: perRow };
  return (
    <main className="rig wire-monitor">
      <section className="panel wire-head" aria-label={wireWords.title(name)}>
        <header>
          <Button small hotkey="Esc" onPress={props.onBack}>
            {wireWords.back}
          </Button>
          <h1>{wireWords.title(name)}</h1>
          <span className="wire grow quiet">{rigWords.wire(watched.connection, watched.dialect)}</span>
          <Button
            small
            hotkey="H"
            pressed={held !== null}
            lit={held !== null}
            onPress={() => {
              if (held === null) hold();
              else setHeld(null);
            }}
          >
            {held === null ? wireWords.hold : wireWords.goOn}
          </Button>
          <Button
            small
            hotkey="W"
            disabled={busy}
            onPress={() => {
              perform(() => (capturing ? actions.endCapture : actions.beginCapture)(watched.instrument));
            }}
          >
            {capturing ? wireWords.endCapture : wireWords.capture}
          </Button>
        </header>
        <div className="wire-choice" role="group" aria-label={wireWords.instruments}>
          {props.instruments.map((one) => (
            <Button
              key={one.instrument}
              small
              pressed={one === watched}
              lit={one === watched}
              onPress={() => {
                setHeld(null);
                props.onWatch(one.instrument);
              }}
            >
              {instrumentName(one)}
            </Button>
          ))}
        </div>
        <CaptureLine capture={capture} />
        {failure !== null && <FailureBlock failure={failure} />}
        {seen.failure !== null && <FailureBlock failure={seen.failure} />}
        {seen.view?.guarded === true && <p className="wire-capture">{wireWords.guarded}</p>}
        <Counts counts={seen.view?.counts ?? null} />
      </section>
      <section className="panel wire-body" style={columns} aria-label={wireWords.list}>
        <div className="wire-row wire-columns" aria-hidden="true">
          <span className="wire-time">{wireWords.time}</span>
          <span className="wire-since">{wireWords.since}</span>
          <span className="wire-way">{wireWords.direction}</span>
          <span className="wire-text">{wireWords.text}</span>
          <span className="wire-hex">{wireWords.hex}</span>
        </div>
        <div className="wire-room" ref={ref}>
          <span className="wire-measure wire" ref={character} aria-hidden="true">
            0000000000
          </span>
          {seen.view !== null && seen.lines.length === 0 ? (
            <p className="quiet wire-nothing">{wireWords.nothing}</p>
          ) : (
            <WireList
              key={watched.instrument}
              lines={held?.lines ?? seen.lines}
              perRow={perRow}
              wallOffsetMilliseconds={seen.wallOffsetMilliseconds ?? 0}
              held={held !== null}
              onHold={hold}
            />
          )}
        </div>
        <p className="wire-held quiet" role="status">
          {held === null ? '' : wireWords.held(Math.max(0, seen.newest - held.newest))}
        </p>
      </section>
    </main>
  );
}

/** Where it is captured to, or why not any more. */
function CaptureLine({ capture }: { readonly capture: CaptureState | null }): ReactElement | null {
  if (capture === null) return null;
  const { bytes, detail, path, state } = capture;
  if (state === 'stopped') {
    return (
      <p className="wire-capture flag" role="alert">
        <FlagTriangle /> <b>{wireWords.captureStopped}</b> {detail}
      </p>
    );
  }
  const words = state === 'running' ? wireWords.capturing : wireWords.captured;
  return <p className="wire-capture">{words(path, bytes)}</p>;
}

function Counts({ counts }: { readonly counts: WireCounts | null }): ReactElement {
  const intervals = counts?.intervals ?? null;
  const none = '–';
  return (
    <dl className="wire-counts">
      <Count
        label={wireWords.frames}
        value={counts === null ? none : String(counts.frames)}
        more={counts === null ? '' : wireWords.framesPerSecond(counts.framesPerSecond)}
      />
      <Count
        label={wireWords.interval}
        value={intervals === null ? none : wireWords.intervalText(intervals)}
        more={intervals === null ? wireWords.noInterval : wireWords.jitter(intervals)}
      />
      <Count
        label={wireWords.received}
        value={counts === null ? none : wireWords.bytes(counts.receivedBytes)}
        more={counts === null ? '' : wireWords.bytesPerSecond(counts.receivedBytesPerSecond)}
      />
      <Count label={wireWords.sent} value={counts === null ? none : wireWords.bytes(counts.sentBytes)} more="" />
      <Count
        label={wireWords.problems}
        value={counts === null ? none : String(counts.problems.reduce((sum, { count }) => sum + count, 0))}
        more={
          counts === null || counts.problems.length === 0
            ? wireWords.noProblems
            : counts.problems.map(({ code, count }) => (
                <span key={code} className="wire-problem">
                  <FlagTriangle /> {wireWords.problemCount(count, code)}
                </span>
              ))
        }
      />
    </dl>
  );
}

function Count(props: { readonly label: string; readonly value: string; readonly more: ReactNode }): ReactElement {
  return (
    <div>
      <dt>{props.label}</dt>
      <dd>
        <b>{props.value}</b> <span className="quiet">{props.more}</span>
      </dd>
    </div>
  );
}
