import { decodeFrame, type SampleFrame } from '../../src/bridge/frame.ts';
import type { SampleMessage } from '../../src/bridge/samples.ts';
import { createStreamRing, type StreamRing } from '../chart/stream-ring.ts';
import { createHostTime, type HostTime } from './host-time.ts';

/** Readings of a stream that a window keeps: 25 min at 40 a second. */
const ringCapacity = 60_000;

/** How far back a window asks when it begins or the time base has changed, µs; and how many samples at the most. */
const lookBackMicroseconds = 600_000_000;
const mostSamples = 30_000;

export type HistoryOf = Extract<SampleMessage, { message: 'history' }>['of'];

export interface HistoryWanted {
  readonly of: HistoryOf;
  readonly stream: number;
  readonly fromMicroseconds: number;
  readonly toMicroseconds: number;
  readonly mostSamples: number;
}

/** The window's end of the sample channel: rings of live samples, history on request, credit, time. */
export interface SampleChannel {
  readonly time: HostTime;
  /**
   * The ring of a stream of the open rig; made when first asked for, and subscribed to. Empty for a number that is no
   * stream, which is never asked of the host: it would end the channel for it.
   */
  ring(stream: number): StreamRing;
  /** Resolves with what the host has of it, in order of time; rejects when the connection goes first. */
  history(wanted: HistoryWanted): Promise<{ times: Float64Array; values: Float64Array }>;
  /** For the connection: the channel is open, and takes messages by `send`. */
  opened(send: (message: SampleMessage) => void): void;
  closed(): void;
  /** @param at `performance.now()` on arrival, ms. */
  receive(bytes: Uint8Array, at: number): void;
  /** Frames that were put away since the last drawing are given back as credit. Called when something was drawn. */
  giveCredit(): void;
}

interface Pending {
  readonly frames: SampleFrame[];
  readonly resolve: (samples: { times: Float64Array; values: Float64Array }) => void;
  readonly reject: (error: Error) => void;
}

/** @param onHost told of every sign of life of the host. */
export function createSampleChannel(onHost: () => void): SampleChannel {
  const time = createHostTime();
  const rings = new Map<number, StreamRing>();
  const pending = new Map<number, Pending>();
  const noRing = createStreamRing(0);
  let send: ((message: SampleMessage) => void) | null = null;
  let nextRequest = 1;
  let owed = 0;

  const subscribe = (): void => send?.({ message: 'subscribe', streams: [...rings.keys()] });

  const history: SampleChannel['history'] = (wanted) =>
    new Promise((resolve, reject) => {
      if (send === null) {
        reject(new Error('the connection to the host is closed'));
        return;
      }
      const request = nextRequest;
      nextRequest += 1;
      pending.set(request, { frames: [], resolve, reject });
      send({
        message: 'history',
        request,
        of: wanted.of,
        stream: wanted.stream,
        fromMicroseconds: Math.max(0, Math.floor(wanted.fromMicroseconds)),
        toMicroseconds: Math.max(0, Math.ceil(wanted.toMicroseconds)),
        mostSamples: wanted.mostSamples,
      });
    });

  /** Fills a ring from what the host still has; a failure leaves a gap, which is drawn as one. */
  const refill = (stream: number, fromMicroseconds: number, toMicroseconds: number): void => {
    const base = time.base;
    history({ of: null, stream, fromMicroseconds, toMicroseconds, mostSamples }).then(
      ({ times, values }) => {
        if (time.base === base) rings.get(stream)?.add(times, values);
      },
      () => undefined,
    );
  };

  const refillAll = (): void => {
    const now = time.at(performance.now());
    if (now === null) return;
    for (const stream of rings.keys()) refill(stream, now - lookBackMicroseconds, now);
  };

  const take = (frame: SampleFrame): void => {
    if (frame.kind === 'live') {
      const ring = rings.get(frame.stream);
      if (ring === undefined) return;
      const before = ring.newestMicroseconds;
      ring.add(frame.times, frame.values);
      if (frame.leftOut > 0) refill(frame.stream, before ?? 0, frame.startMicroseconds);
      return;
    }
    const wanted = pending.get(frame.number);
    if (wanted === undefined) return;
    wanted.frames.push(frame);
    if (frame.kind === 'history-end') {
      pending.delete(frame.number);
      wanted.resolve(joined(wanted.frames));
    }
  };

  return {
    time,
    ring(stream) {
      if (!Number.isInteger(stream) || stream < 0) return noRing;
      let ring = rings.get(stream);
      if (ring === undefined) {
        ring = createStreamRing(ringCapacity);
        rings.set(stream, ring);
        subscribe();
        const now = time.at(performance.now());
        if (now !== null && send !== null) refill(stream, now - lookBackMicroseconds, now);
      }
      return ring;
    },
    history,
    opened(newSend) {
      send = newSend;
      owed = 0;
      subscribe();
      refillAll();
    },
    closed() {
      send = null;
      for (const { reject } of pending.values()) reject(new Error('the connection to the host was closed'));
      pending.clear();
    },
    receive(bytes, at) {
      onHost();
      const frame = decodeFrame(bytes);
      if (frame === null) return;
      if (frame.kind === 'heartbeat') {
        if (!time.heartbeat(frame.stream, frame.startMicroseconds, at, frame.values[0])) return;
        for (const ring of rings.values()) ring.clear();
        refillAll();
        return;
      }
      owed += 1;
      take(frame);
    },
    giveCredit() {
      if (owed === 0) return;
      send?.({ message: 'credit', frames: owed });
      owed = 0;
    },
  };
}

function joined(frames: readonly SampleFrame[]): { times: Float64Array; values: Float64Array } {
  const length = frames.reduce((sum, frame) => sum + frame.times.length, 0);
  const times = new Float64Array(length);
  const values = new Float64Array(length);
  let at = 0;
  for (const frame of frames) {
    times.set(frame.times, at);
    values.set(frame.values, at);
    at += frame.times.length;
  }
  return { times, values };
}
