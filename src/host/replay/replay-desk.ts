import { replaySpeeds, type ReplayChange } from '../../bridge/replay.ts';
import type { ReplaySnapshot } from '../../bridge/snapshot.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import type { Method } from '../../model/method.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import { refusal } from '../runtime/refusal.ts';
import type { SampleHub } from '../samples/sample-hub.ts';
import { thin } from '../samples/thin.ts';
import type { ReplayedMoment, TrialReplay } from './trial-replay.ts';
import { createTrialReplay } from './trial-replay.ts';

/** The one recorded trial that is played back, or none. It never writes and never touches an instrument. */
export interface ReplayDesk {
  /** What windows see of it; null while none is open. */
  view(): ReplaySnapshot | null;
  readonly open: boolean;
  /** Shows a trial from its beginning, standing. @throws ChambersideError those of reading it. */
  begin(file: string, trial: string): Promise<void>;
  /** @throws ChambersideError `action-refused` when none is open. */
  change(change: ReplayChange): void;
  end(): void;
}

export interface ReplayDeskOptions {
  readonly clock: Clock;
  readonly hub: Pick<SampleHub, 'begin' | 'setBase' | 'push' | 'end'>;
  readonly read: (file: string, trial: string) => Promise<{ record: TrialRecord; method: Method }>;
  readonly onChange: () => void;
  /** The sample channel is somebody else's again. */
  readonly onEnd: () => void;
}

interface Shown {
  readonly file: string;
  readonly trial: string;
  readonly replay: TrialReplay;
  readonly streams: number;
  playing: boolean;
  speed: number;
  /** Trial time at a moment of the host's clock: from there on it runs at its speed, or stands. */
  anchorMicroseconds: number;
  anchoredAtMicroseconds: number;
  /** Readings before this have been sent. */
  sentTo: number;
  moment: ReplayedMoment;
  momentAt: number;
}

const tickMicroseconds = 50_000;

export function createReplayDesk(options: ReplayDeskOptions): ReplayDesk {
  const { clock, hub } = options;
  let shown: Shown | null = null;
  let cancelTick: Cancel | undefined;

  const nowOf = (of: Shown): number => {
    const passed = of.playing ? (clock.now() - of.anchoredAtMicroseconds) * of.speed : 0;
    return Math.min(of.replay.endsAtMicroseconds, of.anchorMicroseconds + passed);
  };

  /** Begins the sample channel anew at the moment that is shown: windows forget and ask for what came before. */
  const anchor = (of: Shown, atMicroseconds: number): void => {
    of.anchorMicroseconds = atMicroseconds;
    of.anchoredAtMicroseconds = clock.now();
    of.sentTo = atMicroseconds;
    hub.begin(of.streams);
    hub.setBase({
      toBase: (at) => at,
      beginsAtMicroseconds: 0,
      now: () => nowOf(of),
      rate: of.playing ? of.speed : 0,
      recorded: {
        file: of.file,
        trial: of.trial,
        history: ({ fromMicroseconds, mostSamples, stream }, to) =>
          // What has not happened yet in the replay is not told.
          Promise.resolve(thin(of.replay.readings(stream, fromMicroseconds, Math.min(to, of.sentTo)), mostSamples)),
      },
    });
  };

  /** Shows that moment, and sends the readings up to it. */
  const look = (of: Shown, now: number): void => {
    for (let stream = 0; stream < of.streams; stream += 1) {
      const { times, values } = of.replay.readings(stream, of.sentTo, now);
      for (const [index, at] of times.entries()) hub.push(stream, at, values[index] as number);
    }
    of.sentTo = Math.max(of.sentTo, now);
    if (now !== of.momentAt) {
      of.moment = of.replay.at(now);
      of.momentAt = now;
    }
    options.onChange();
  };

  const tick = (): void => {
    const of = shown;
    if (of === null || !of.playing) return;
    // Asked once: what is shown last is the very end, however long the looking takes.
    const now = nowOf(of);
    const ended = now >= of.replay.endsAtMicroseconds;
    if (ended) of.playing = false;
    look(of, now);
    if (ended) {
      anchor(of, now);
      return;
    }
    cancelTick = clock.after(tickMicroseconds, tick);
  };

  const end = (): void => {
    if (shown === null) return;
    cancelTick?.();
    shown = null;
    hub.end();
    options.onEnd();
    options.onChange();
  };

  return {
    get open() {
      return shown !== null;
    },
    view() {
      if (shown === null) return null;
      const { file, moment, momentAt, playing, replay, speed, trial } = shown;
      return {
        file,
        trial,
        playing,
        speed,
        atMicroseconds: Math.round(momentAt),
        endsAtMicroseconds: replay.endsAtMicroseconds,
        ...moment,
      };
    },
    async begin(file, trial) {
      const { record, method } = await options.read(file, trial);
      const replay = createTrialReplay(file, record, method);
      end();
      shown = {
        file,
        trial,
        replay,
        streams: record.streams.length,
        playing: false,
        speed: 1,
        anchorMicroseconds: 0,
        anchoredAtMicroseconds: 0,
        sentTo: 0,
        moment: replay.at(0),
        momentAt: 0,
      };
      anchor(shown, 0);
      options.onChange();
    },
    change({ atMicroseconds, byMicroseconds = 0, playing, speed, step }) {
      const of = shown;
      if (of === null) throw refusal('no replay is open', 'replay', 'Open one from the result of a trial.');
      cancelTick?.();
      const wanted = (atMicroseconds ?? nowOf(of)) + byMicroseconds;
      const now = Math.min(of.replay.endsAtMicroseconds, Math.max(0, wanted));
      of.speed = speed ?? nextSpeed(of.speed, step);
      of.playing = (playing ?? of.playing) && now < of.replay.endsAtMicroseconds;
      anchor(of, now);
      look(of, now);
      tick();
    },
    end,
  };
}

/** The last speed there is stays. */
function nextSpeed(speed: number, step: 1 | -1 | undefined): number {
  if (step === undefined) return speed;
  const next = step === 1 ? replaySpeeds.find((one) => one > speed) : replaySpeeds.findLast((one) => one < speed);
  return next ?? speed;
}
