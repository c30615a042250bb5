import { useState, type ReactElement } from 'react';
import { replaySpeeds, type ReplayChange } from '../../src/bridge/replay.ts';
import type { ReplaySnapshot } from '../../src/bridge/snapshot.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { replayWords } from '../words/replay.ts';
import { trialTime } from '../words/times.ts';

/** What the transport keys ask of the host. */
export interface ReplayActions {
  readonly change: (change: ReplayChange) => Promise<Outcome<unknown>>;
  readonly end: () => Promise<Outcome<unknown>>;
}

const jumpMicroseconds = 10_000_000;
/** Steps of the slider, µs. */
const stepMicroseconds = 1_000_000;

/** Play, pause, speed, anywhere in the trial: in the place where a live trial has its hands. */
export function Transport(props: { readonly replay: ReplaySnapshot; readonly actions: ReplayActions }): ReactElement {
  const { actions, replay } = props;
  const { atMicroseconds: at, endsAtMicroseconds: end, playing, speed } = replay;
  const [refused, setRefused] = useState<Outcome<unknown> | null>(null);
  const ask = (asked: Promise<Outcome<unknown>>): void => void asked.then(setRefused);
  const change = (wanted: ReplayChange): void => ask(actions.change(wanted));
  const go = (to: number): void => change({ atMicroseconds: Math.round(Math.min(end, Math.max(0, to))) });
  const ended = at >= end;
  return (
    <footer className="transport" aria-label={replayWords.transport}>
      <div className="transport-line">
        <span className="transport-time">{replayWords.of(trialTime(at), trialTime(end))}</span>
        <input
          type="range"
          aria-label={replayWords.position}
          aria-valuetext={replayWords.of(trialTime(at), trialTime(end))}
          min={0}
          max={Math.ceil(end / stepMicroseconds)}
          value={Math.floor(at / stepMicroseconds)}
          onChange={(event) => go(Number(event.target.value) * stepMicroseconds)}
        />
      </div>
      <div className="transport-line">
        <Button
          lit
          hotkey="P"
          onPress={() => change(ended ? { atMicroseconds: 0, playing: true } : { playing: !playing })}
        >
          {playing ? replayWords.pause : replayWords.play}
        </Button>
        <Button hotkey="J" onPress={() => change({ byMicroseconds: -jumpMicroseconds })}>
          {replayWords.back}
        </Button>
        <Button hotkey="K" disabled={ended} onPress={() => change({ byMicroseconds: jumpMicroseconds })}>
          {replayWords.on}
        </Button>
        <Button hotkey="-" disabled={speed <= replaySpeeds[0]} onPress={() => change({ step: -1 })}>
          {replayWords.slower}
        </Button>
        <b className="transport-speed">{replayWords.speed(speed)}</b>
        <Button hotkey="+" disabled={speed >= (replaySpeeds.at(-1) ?? speed)} onPress={() => change({ step: 1 })}>
          {replayWords.faster}
        </Button>
        <span className="grow" />
        {refused?.done === false && <FailureBlock failure={refused.failure} />}
        <Button hotkey="Esc" onPress={() => ask(actions.end())}>
          {replayWords.end}
        </Button>
      </div>
    </footer>
  );
}
