import { heartbeatMilliseconds } from '../../bridge/samples.ts';
import type { SampleMessage } from '../../bridge/samples.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import type { SampleChannel } from '../door/served-host.ts';
import { createSampleChannel } from './sample-channel.ts';
import type { HostSampleChannel, SampleSource } from './sample-channel.ts';
import { createSampleRing } from './sample-ring.ts';
import type { SampleRing } from './sample-ring.ts';
import { thin } from './thin.ts';
import type { ThinnedSamples } from './thin.ts';

type HistoryRequest = Extract<SampleMessage, { message: 'history' }>;

/** How the host's clock becomes the time that windows see. */
export interface TimeBase {
  /** Null for a moment before the base began. */
  toBase(atMicroseconds: number): number | null;
  /** Moment of the host's clock at which the base began, µs. */
  readonly beginsAtMicroseconds: number;
  now(): number;
  /** How fast this time runs, 1 when absent; 0 when it stands. */
  readonly rate?: number;
  /** Committed readings of the trial whose time this is; null outside a trial. */
  readonly recorded: {
    readonly file: string;
    readonly trial: string;
    history(request: HistoryRequest, toMicroseconds: number): Promise<ThinnedSamples>;
  } | null;
}

/** Readings of the open rig on their way to the windows, and the newest quarter of an hour of them. */
export interface SampleHub {
  /** A rig is opened: its streams begin empty. */
  begin(streams: number): void;
  /** The rig is closed. */
  end(): void;
  setBase(base: TimeBase | null): void;
  /** Time of the host's clock, µs. */
  push(stream: number, atMicroseconds: number, value: number): void;
  open(send: (frame: Uint8Array<ArrayBuffer>) => void, waitingBytes: () => number): SampleChannel;
  /** No timer is left behind. */
  close(): void;
}

const keepMicroseconds = 15 * 60 * 1_000_000;
/** Between two frames of a stream at the least, µs: a reading that comes later than this after one is sent at once … */
const leastMicroseconds = 25_000;
/** … and what could not be sent is tried again after this long. */
const againMicroseconds = 50_000;
const nothing: ThinnedSamples = { times: new Float64Array(0), values: new Float64Array(0) };

/** @param readHistory committed readings of a trial that is not the one under way. */
export function createSampleHub(options: {
  readonly clock: Clock;
  readonly readHistory: (request: HistoryRequest) => Promise<ThinnedSamples>;
}): SampleHub {
  const { clock } = options;
  const channels = new Set<HostSampleChannel>();
  let rings: SampleRing[] = [];
  let base: TimeBase | null = null;
  let number = 0;
  let cancelFrames: Cancel | undefined;
  /** When readings were sent last. */
  let pumpedAt = Number.NEGATIVE_INFINITY;
  /** A reading waits for the next frame. */
  let due = false;
  let cancelHeartbeats: Cancel | undefined;

  /** Samples on the base; those from before it are left out, which can only be the first ones. */
  const onBase = (samples: ThinnedSamples, running: TimeBase): ThinnedSamples => {
    const { times, values } = samples;
    let first = 0;
    while (first < times.length && (times[first] as number) < running.beginsAtMicroseconds) first += 1;
    const converted = times.slice(first);
    for (const [index, at] of converted.entries()) converted[index] = running.toBase(at) ?? 0;
    return { times: converted, values: values.subarray(first) };
  };

  const ofOpenRig = async (request: HistoryRequest): Promise<ThinnedSamples> => {
    const running = base;
    const ring = rings[request.stream];
    if (running === null || ring === undefined) return nothing;
    const { fromMicroseconds: from, toMicroseconds: to, mostSamples } = request;
    // Taken first, so that what moves out of memory meanwhile is not missed.
    const held = onBase(ring.between(running.beginsAtMicroseconds, Number.POSITIVE_INFINITY), running);
    const inMemory = cut(held, from, to);
    const oldest = held.times[0] ?? Number.POSITIVE_INFINITY;
    if (running.recorded === null || from >= oldest) return thin(inMemory, mostSamples);
    const onDisk = await running.recorded.history(request, Math.min(to, oldest));
    return thin(joined(onDisk, inMemory), mostSamples);
  };

  const source: SampleSource = {
    get base() {
      return number;
    },
    now: () => base?.now() ?? Number.NaN,
    get rate() {
      return base?.rate ?? 1;
    },
    total: (stream) => rings[stream]?.total ?? 0,
    numbered: (stream, from, to) =>
      base === null ? nothing : onBase(rings[stream]?.numbered(from, to) ?? nothing, base),
    history(request) {
      const recorded = base?.recorded;
      const underWay = request.of !== null && recorded?.trial === request.of.trial && recorded.file === request.of.file;
      return request.of === null || underWay ? ofOpenRig(request) : options.readHistory(request);
    },
  };

  const pump = (): void => {
    if (due) pumpedAt = clock.now();
    due = false;
    cancelFrames = clock.after(againMicroseconds, pump);
    for (const channel of channels) channel.pump();
  };
  const pumpSoon = (): void => {
    if (due || channels.size === 0) return;
    due = true;
    cancelFrames?.();
    // In a turn of its own: what arrived together goes together, and nothing that matters more waits for it.
    cancelFrames = clock.at(Math.max(clock.now(), pumpedAt + leastMicroseconds), pump);
  };
  const beatSoon = (): void => {
    cancelHeartbeats = clock.after(heartbeatMilliseconds * 1000, () => {
      for (const channel of channels) channel.heartbeat();
      beatSoon();
    });
  };
  pump();
  beatSoon();

  return {
    begin(streams) {
      rings = Array.from({ length: streams }, () => createSampleRing(keepMicroseconds));
    },
    end() {
      rings = [];
    },
    setBase(next) {
      base = next;
      number = (number + 1) & 0xffff;
      for (const channel of channels) channel.rebase();
    },
    push(stream, atMicroseconds, value) {
      rings[stream]?.push(atMicroseconds, value);
      pumpSoon();
    },
    open(send, waitingBytes) {
      const channel = createSampleChannel(source, send, waitingBytes, () => channels.delete(channel));
      channels.add(channel);
      channel.heartbeat();
      return channel;
    },
    close() {
      cancelFrames?.();
      cancelHeartbeats?.();
      for (const channel of [...channels]) channel.close();
    },
  };
}

/** The part of these samples in [from, to); times ascend. */
function cut({ times, values }: ThinnedSamples, from: number, to: number): ThinnedSamples {
  let first = 0;
  while (first < times.length && (times[first] as number) < from) first += 1;
  let end = times.length;
  while (end > first && (times[end - 1] as number) >= to) end -= 1;
  return { times: times.subarray(first, end), values: values.subarray(first, end) };
}

function joined(one: ThinnedSamples, other: ThinnedSamples): ThinnedSamples {
  const times = new Float64Array(one.times.length + other.times.length);
  const values = new Float64Array(times.length);
  times.set(one.times);
  values.set(one.values);
  times.set(other.times, one.times.length);
  values.set(other.values, one.values.length);
  return { times, values };
}
