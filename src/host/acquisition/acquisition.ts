import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { Actuator, DriverManifest, DriverSession, PortSelector } from '../../device/driver.ts';
import type { LineFramerFactory } from '../../device/framing.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import type { Transport } from '../../device/transport.ts';
import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import type { Problem, Reading } from '../../model/reading.ts';
import type { Rig } from '../../model/rig.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import { microsecondsPerSecond, toMicroseconds } from '../../model/time.ts';
import { limitsWithoutStream } from '../../safety/watched-limits.ts';
import { createProblemLimiter } from './problem-limiter.ts';
import { tapTransport } from './tap.ts';
import { watchLines } from './wire-watch.ts';
import type { WireWatch } from './wire-watch.ts';

/** What acquisition hands on, in the order in which it happened. Each call returns before the next is made. */
export interface AcquisitionSink {
  wire(instrumentIndex: number, direction: 'in' | 'out', atMicroseconds: number, bytes: Uint8Array): void;
  reading(streamIndex: number, reading: Reading): void;
  problem(problem: Problem): void;
}

/** Bytes of one instrument since the rig was opened, over all its connections. */
export interface ByteAccount {
  readonly received: number;
  /** Received bytes that stand in readings, were understood, or are part of a problem. */
  readonly accounted: number;
  readonly sent: number;
}

export interface Acquisition {
  /** In the order in which streams are numbered: by instrument of the rig, then by the dialect's order. */
  readonly streams: readonly StreamDescriptor[];
  /** Opens every instrument and keeps it open: a lost connection is tried again until `end`. */
  begin(): void;
  /** Resolves when every instrument is connected. */
  connected(): Promise<void>;
  /** The valve's verb, or undefined while it is not connected. */
  selector(): PortSelector | undefined;
  /** What can be set of an instrument; undefined while it is not connected, and where nothing can. */
  actuator(instrument: string): Actuator | undefined;
  isConnected(instrument: string): boolean;
  bytes(instrument: string): ByteAccount;
  /** Tries a lost instrument again at once (the operator plugged it in under another name). */
  retry(instrument: string): void;
  /** Resolves when nothing is open any more, what was being opened included. */
  end(): Promise<void>;
}

export interface AcquisitionOptions {
  readonly rig: Rig;
  /** What stamps and time-outs are counted on: the clock that the transports stamp with. */
  readonly clock: Clock;
  readonly lines: LineFramerFactory;
  readonly sink: AcquisitionSink;
  /** Opens today's connection of an instrument; rejects while there is none. */
  readonly openTransport: (instrument: string) => Promise<Transport>;
  /** Longest wait between two attempts to reconnect, s, > 0. */
  readonly longestRetrySeconds: number;
  /** Who sees the bytes and every single problem of an instrument, if anybody does. */
  readonly watch?: (instrument: string) => WireWatch;
}

/**
 * The streams that a rig delivers, in the order in which a trial numbers them.
 * @throws ChambersideError `driver-unknown`, `configuration-invalid`.
 */
export function describeStreams(rig: Rig): StreamDescriptor[] {
  const streams = rig.instruments.flatMap((configuration) => {
    const manifest = findDriver(configuration.kind, configuration.dialect);
    const settings = parseSettings(manifest, configuration.instrument, configuration.settings);
    return manifest.streams(configuration.instrument, settings);
  });
  // A limit that nothing is held against would be watched in name only.
  const [wrong] = limitsWithoutStream(rig.watch ?? [], streams);
  if (wrong === undefined) return streams;
  const remedy = 'Correct the limit in the rig, or the settings of the instrument.';
  throw new ChambersideError(
    'configuration-invalid',
    `the limit ${wrong.limit.title} cannot be watched: ${wrong.why}`,
    `watch.${wrong.limit.name}`,
    remedy,
  );
}

interface Channel {
  readonly instrument: string;
  readonly index: number;
  readonly manifest: DriverManifest;
  readonly settings: unknown;
  readonly streamIndices: ReadonlyMap<string, number>;
  readonly watch: WireWatch | undefined;
  session: DriverSession | undefined;
  transport: Transport | undefined;
  cancelRetry: Cancel | undefined;
  opening: boolean;
  attempts: number;
  wasConnected: boolean;
  received: number;
  sent: number;
  /** Of sessions that are over. */
  accountedBefore: number;
}

const firstRetrySeconds = 0.25;

/**
 * Turns connections into readings and problems: bytes are stamped by the transport, recorded raw, decoded by the
 * instrument's driver and handed on, one after the other, by plain calls.
 * @throws ChambersideError `driver-unknown`, `configuration-invalid` for a rig that names what does not exist.
 */
export function createAcquisition(options: AcquisitionOptions): Acquisition {
  const { rig, clock, sink } = options;
  const limiter = createProblemLimiter({ passPerSecond: 5, emit: (problem) => sink.problem(problem) });
  const streams = describeStreams(rig);
  const channels: Channel[] = rig.instruments.map((configuration, index) => {
    const manifest = findDriver(configuration.kind, configuration.dialect);
    const settings = parseSettings(manifest, configuration.instrument, configuration.settings);
    const streamIndices = new Map<string, number>();
    for (const [streamIndex, descriptor] of streams.entries()) {
      if (descriptor.instrument === configuration.instrument) streamIndices.set(descriptor.stream, streamIndex);
    }
    return {
      instrument: configuration.instrument,
      index,
      manifest,
      settings,
      streamIndices,
      watch: options.watch?.(configuration.instrument),
      session: undefined,
      transport: undefined,
      cancelRetry: undefined,
      opening: false,
      attempts: 0,
      wasConnected: false,
      received: 0,
      sent: 0,
      accountedBefore: 0,
    };
  });
  const photometer = streams.find(
    (stream) => stream.instrument === rig.photometer && stream.stream === rig.photometerStream,
  );
  if (photometer === undefined) {
    throw new ChambersideError(
      'configuration-invalid',
      `instrument ${rig.photometer} has no stream ${rig.photometerStream}`,
      'rig, photometerStream',
      `Name one of its streams: ${streams
        .filter((stream) => stream.instrument === rig.photometer)
        .map((stream) => stream.stream)
        .join(', ')}.`,
    );
  }
  let ended = false;
  let cancelFlush: Cancel | undefined;
  const waiting = new Set<() => void>();
  /** Connections being opened; what comes of them after the end is closed again. */
  const openings = new Set<Promise<void>>();

  const channelOf = (instrument: string): Channel => {
    const channel = channels.find((candidate) => candidate.instrument === instrument);
    if (channel === undefined) throw new RangeError(`the rig has no instrument ${instrument}`);
    return channel;
  };

  const report = (channel: Channel, code: Problem['code'], detail: string, byteCount: number, at: number): void => {
    const problem: Problem = { instrument: channel.instrument, atMicroseconds: at, code, detail, byteCount };
    channel.watch?.problem(problem);
    limiter.add(problem);
  };

  /** A driver that throws while it is opened leaves nothing open: it is tried again like a lost connection. */
  const attach = async (channel: Channel, transport: Transport): Promise<void> => {
    try {
      openDriver(channel, transport);
    } catch (error) {
      channel.transport = undefined;
      channel.attempts += 1;
      if (!ended) {
        report(channel, 'connection-lost', `the driver could not be opened: ${String(error)}`, 0, clock.now());
        scheduleRetry(channel);
      }
      await transport.close();
    }
  };

  const openDriver = (channel: Channel, transport: Transport): void => {
    const { watch } = channel;
    channel.transport = transport;
    const tapped = tapTransport(transport, {
      received(bytes, atMicroseconds) {
        channel.received += bytes.length;
        watch?.chunk('in', atMicroseconds, bytes);
        sink.wire(channel.index, 'in', atMicroseconds, bytes);
      },
      sent(bytes) {
        channel.sent += bytes.length;
        const atMicroseconds = clock.now();
        watch?.chunk('out', atMicroseconds, bytes);
        sink.wire(channel.index, 'out', atMicroseconds, bytes);
      },
    });
    // The loss must be seen whether or not the driver listens for it.
    let driverOnClose: ((reason: string) => void) | undefined;
    tapped.onClose((reason) => {
      driverOnClose?.(reason);
      if (channel.transport === transport) lost(channel, reason);
    });
    const watched: Transport = {
      ...tapped,
      onClose(listener) {
        driverOnClose = listener;
      },
    };
    const session = channel.manifest.open({
      instrument: channel.instrument,
      settings: channel.settings,
      transport: watched,
      timers: clock,
      lines: watch === undefined ? options.lines : watchLines(options.lines, watch),
      openedAtMicroseconds: clock.now(),
      sink: {
        reading(stream, value, atMicroseconds) {
          const streamIndex = channel.streamIndices.get(stream);
          if (streamIndex === undefined)
            throw new RangeError(`${channel.instrument} gave an undeclared stream ${stream}`);
          watch?.delivered(atMicroseconds);
          sink.reading(streamIndex, { instrument: channel.instrument, stream, atMicroseconds, value });
        },
        problem(code, detail, byteCount, atMicroseconds) {
          if (byteCount > 0) watch?.delivered(atMicroseconds);
          report(channel, code, detail, byteCount, atMicroseconds);
        },
        understood(_, atMicroseconds) {
          // Its bytes are counted by the session.
          watch?.delivered(atMicroseconds);
        },
      },
    });
    if (channel.transport !== transport) {
      // It broke while the driver was being opened.
      session.end();
      channel.accountedBefore += session.accountedBytes;
      return;
    }
    if (channel.wasConnected) {
      report(channel, 'connection-restored', `connected again through ${transport.label}`, 0, clock.now());
    }
    channel.wasConnected = true;
    channel.attempts = 0;
    channel.session = session;
    if (channels.every((candidate) => candidate.session !== undefined)) {
      for (const resolve of waiting) resolve();
      waiting.clear();
    }
  };

  const lost = (channel: Channel, reason: string): void => {
    const session = channel.session;
    channel.session = undefined;
    channel.transport = undefined;
    if (session !== undefined) {
      session.end();
      channel.accountedBefore += session.accountedBytes;
    }
    if (ended) return;
    report(channel, 'connection-lost', reason, 0, clock.now());
    scheduleRetry(channel);
  };

  const scheduleRetry = (channel: Channel): void => {
    if (ended || channel.cancelRetry !== undefined) return;
    const seconds = Math.min(options.longestRetrySeconds, firstRetrySeconds * 2 ** Math.min(channel.attempts, 10));
    channel.cancelRetry = clock.after(toMicroseconds(seconds), () => {
      channel.cancelRetry = undefined;
      open(channel);
    });
  };

  const open = (channel: Channel): void => {
    if (ended || channel.opening || channel.session !== undefined) return;
    channel.opening = true;
    const opening = openChannel(channel)
      .catch((error: unknown) => {
        // What is left is a transport that does not close, or a sink that fails: no reason to lose the others.
        if (!ended) report(channel, 'connection-lost', `it failed: ${String(error)}`, 0, clock.now());
      })
      .finally(() => openings.delete(opening))
      // The sink could not even take that; it says so itself.
      .catch(() => undefined);
    openings.add(opening);
  };

  const openChannel = async (channel: Channel): Promise<void> => {
    let transport: Transport;
    try {
      transport = await options.openTransport(channel.instrument);
    } catch (error) {
      channel.opening = false;
      channel.attempts += 1;
      if (ended) return;
      if (channel.attempts === 1) {
        const detail = isChambersideError(error) ? error.message : String(error);
        report(channel, 'connection-lost', `cannot be opened: ${detail}`, 0, clock.now());
      }
      scheduleRetry(channel);
      return;
    }
    channel.opening = false;
    if (ended) await transport.close();
    else await attach(channel, transport);
  };

  const flushEachSecond = (): void => {
    const next = (Math.floor(clock.now() / microsecondsPerSecond) + 1) * microsecondsPerSecond;
    cancelFlush = clock.at(next, () => {
      limiter.flush(clock.now());
      flushEachSecond();
    });
  };

  return {
    streams,
    begin() {
      flushEachSecond();
      for (const channel of channels) open(channel);
    },
    connected() {
      if (channels.every((channel) => channel.session !== undefined)) return Promise.resolve();
      return new Promise((resolve) => waiting.add(resolve));
    },
    selector: () => channelOf(rig.selectorValve).session?.selector,
    actuator: (instrument) => channelOf(instrument).session?.actuator,
    isConnected: (instrument) => channelOf(instrument).session !== undefined,
    bytes(instrument) {
      const channel = channelOf(instrument);
      return {
        received: channel.received,
        accounted: channel.accountedBefore + (channel.session?.accountedBytes ?? 0),
        sent: channel.sent,
      };
    },
    retry(instrument) {
      const channel = channelOf(instrument);
      channel.cancelRetry?.();
      channel.cancelRetry = undefined;
      channel.attempts = 0;
      open(channel);
    },
    async end() {
      if (ended) return;
      ended = true;
      cancelFlush?.();
      for (const channel of channels) {
        channel.cancelRetry?.();
        channel.session?.end();
      }
      // A session that ends may still report what it could not finish.
      limiter.flush(clock.now());
      const connected = channels.flatMap((channel) => channel.transport ?? []);
      await Promise.all([...connected.map((transport) => transport.close()), ...openings]);
      for (const resolve of waiting) resolve();
      waiting.clear();
    },
  };
}
