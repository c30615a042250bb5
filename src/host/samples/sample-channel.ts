import { encodeFrame, largestFrameSamples } from '../../bridge/frame.ts';
import type { SampleFrame } from '../../bridge/frame.ts';
import { initialCredit } from '../../bridge/samples.ts';
import type { SampleMessage } from '../../bridge/samples.ts';
import type { SampleChannel } from '../door/served-host.ts';
import type { ThinnedSamples } from './thin.ts';

type HistoryRequest = Extract<SampleMessage, { message: 'history' }>;

/** What the channels of all windows draw from. */
export interface SampleSource {
  /** Number of the time base that runs now. */
  readonly base: number;
  /** Time now on that base, µs; NaN while no rig is open. */
  now(): number;
  /** How fast that time runs: 1 but in a replay. */
  readonly rate: number;
  /** Number of the next sample of a stream; 0 for streams that do not exist. */
  total(stream: number): number;
  /** Samples of a stream by number, on the base, those from before it left out; numbers stay those of the stream. */
  numbered(stream: number, from: number, to: number): ThinnedSamples;
  history(request: HistoryRequest): Promise<ThinnedSamples>;
}

/** A window that does not read keeps this much of the newest at most, samples of each stream. */
const mostPendingSamples = 2_000;
/** Questions of one window that may wait for their turn; more are answered with nothing. */
const mostRequests = 32;
/** With so much held back by the door nothing but heartbeats is sent … */
const mostWaitingBytes = 512 * 1024;
/** … and with so much not even those: a window that is gone must not fill the memory. */
const mostWaitingWithHeartbeats = 2 * 1024 * 1024;

interface Subscription {
  /** Number of the next sample to send. */
  next: number;
  sequence: number;
  leftOut: number;
}

export interface HostSampleChannel extends SampleChannel {
  /** Sends what credit allows. */
  pump(): void;
  heartbeat(): void;
  /** The time base has changed: what was under way on the old one is over. */
  rebase(): void;
}

/** The host's end of one window's sample channel. @param onClosed when the window has gone. */
export function createSampleChannel(
  source: SampleSource,
  send: (frame: Uint8Array<ArrayBuffer>) => void,
  waitingBytes: () => number,
  onClosed: () => void,
): HostSampleChannel {
  const subscriptions = new Map<number, Subscription>();
  const requests: HistoryRequest[] = [];
  let credit = initialCredit;
  let heartbeats = 0;
  let closed = false;
  /** The history answer that is being sent, and how far it has come. */
  let answer: { readonly request: HistoryRequest; readonly samples: ThinnedSamples; sent: number } | null = null;
  let asking = false;
  let pumping = false;
  let base = source.base;

  const emit = (frame: SampleFrame): void => send(encodeFrame(frame));
  const mayServe = (): boolean => !closed && credit > 0 && waitingBytes() <= mostWaitingBytes;
  const frameOf = (
    kind: SampleFrame['kind'],
    stream: number,
    number: number,
    leftOut: number,
    samples: ThinnedSamples,
    from: number,
    to: number,
  ): SampleFrame => ({
    kind,
    stream,
    number,
    leftOut,
    startMicroseconds: samples.times[from] ?? 0,
    times: samples.times.subarray(from, to),
    values: samples.values.subarray(from, to),
  });

  const heartbeat = (): void => {
    if (closed || waitingBytes() > mostWaitingWithHeartbeats) return;
    heartbeats += 1;
    const now = source.now();
    const replayed = source.rate !== 1 && Number.isFinite(now);
    emit({
      kind: 'heartbeat',
      stream: base & 0xffff,
      number: heartbeats >>> 0,
      leftOut: 0,
      startMicroseconds: now,
      times: replayed ? Float64Array.of(now) : new Float64Array(0),
      values: replayed ? Float64Array.of(source.rate) : new Float64Array(0),
    });
  };

  const sendLive = (): void => {
    for (const [stream, subscription] of subscriptions) {
      const total = source.total(stream);
      const pending = total - subscription.next;
      if (pending > mostPendingSamples) {
        subscription.leftOut += pending - mostPendingSamples;
        subscription.next = total - mostPendingSamples;
      }
      if (total === subscription.next || !mayServe()) continue;
      const samples = source.numbered(
        stream,
        subscription.next,
        Math.min(total, subscription.next + largestFrameSamples),
      );
      const count = samples.times.length;
      subscription.next = Math.min(total, subscription.next + largestFrameSamples);
      if (count === 0) continue;
      const frame = frameOf('live', stream, subscription.sequence >>> 0, subscription.leftOut, samples, 0, count);
      subscription.sequence += 1;
      subscription.leftOut = 0;
      // Before it is sent: a window in this process may give it back at once.
      credit -= 1;
      emit(frame);
    }
  };

  const endAnswer = (request: HistoryRequest): void => {
    if (closed || waitingBytes() > mostWaitingWithHeartbeats) return;
    const none = { times: new Float64Array(0), values: new Float64Array(0) };
    emit(frameOf('history-end', request.stream, request.request, 0, none, 0, 0));
  };

  const sendHistory = (): void => {
    while (answer !== null && mayServe()) {
      const { request, samples } = answer;
      const from = answer.sent;
      const to = Math.min(samples.times.length, from + largestFrameSamples);
      answer.sent = to;
      if (to > from) {
        credit -= 1;
        emit(frameOf('history', request.stream, request.request, 0, samples, from, to));
      }
      if (to < samples.times.length) continue;
      answer = null;
      endAnswer(request);
    }
    if (answer !== null || asking || closed) return;
    const next = requests[0];
    if (next === undefined || credit <= 0) return;
    requests.shift();
    askHistory(next);
  };

  const askHistory = (request: HistoryRequest): void => {
    const askedOn = base;
    asking = true;
    source
      .history(request)
      .catch((): ThinnedSamples => ({ times: new Float64Array(0), values: new Float64Array(0) }))
      .then((samples) => {
        asking = false;
        // What was read on a base that is over would be put on the wrong axis.
        if (request.of === null && askedOn !== base) endAnswer(request);
        else answer = { request, samples, sent: 0 };
        pump();
      })
      .catch(() => undefined);
  };

  const pump = (): void => {
    if (closed || pumping) return;
    pumping = true;
    try {
      sendLive();
      sendHistory();
    } finally {
      pumping = false;
    }
  };

  return {
    receive(message) {
      switch (message.message) {
        case 'hello':
          return;
        case 'credit': {
          const waited = credit <= 0;
          // A window never has more to give back than it was sent.
          credit = Math.min(initialCredit, credit + message.frames);
          // Otherwise what is new waits for its time: as many small frames as credits would be work for nothing.
          if (waited) pump();
          return;
        }
        case 'subscribe': {
          const wanted = new Set(message.streams);
          for (const stream of [...subscriptions.keys()]) if (!wanted.has(stream)) subscriptions.delete(stream);
          for (const stream of wanted) {
            if (subscriptions.has(stream)) continue;
            subscriptions.set(stream, { next: source.total(stream), sequence: 0, leftOut: 0 });
          }
          return;
        }
        case 'history':
          if (requests.length >= mostRequests) endAnswer(message);
          else requests.push(message);
          pump();
      }
    },
    close() {
      if (closed) return;
      closed = true;
      subscriptions.clear();
      requests.length = 0;
      answer = null;
      onClosed();
    },
    pump,
    heartbeat,
    rebase() {
      base = source.base;
      if (answer?.request.of === null) {
        const { request } = answer;
        answer = null;
        endAnswer(request);
      }
      heartbeat();
      for (const [stream, subscription] of subscriptions) {
        subscription.next = source.total(stream);
        subscription.leftOut = 0;
      }
    },
  };
}
