import type { z } from 'zod';
import type { ProblemCode } from '../model/reading.ts';
import type { StreamDescriptor } from '../model/stream.ts';
import type { Unit } from '../model/unit.ts';
import type { Cancellation } from './cancellation.ts';
import type { LineFramerFactory } from './framing.ts';
import type { Identification } from './identification.ts';
import type { Timers } from './timers.ts';
import type { Transport } from './transport.ts';
import type { WireLoad } from './wire-load.ts';

/** How a serial line to this dialect is usually set; a rig may say otherwise. */
export interface SerialDefaults {
  readonly baudRate: number;
}

/**
 * What a dialect is, without opening anything. One object per driver folder, listed in `drivers/registry.ts`.
 * @typeParam Settings what the rig's `settings` of this instrument parse into.
 */
export interface DriverManifest<Settings = unknown> {
  /** `photometer`, `selector-valve`, `heart-rate`, … */
  readonly kind: string;
  /** `text-lines`, `command-lines`, `measurement-hex`, … */
  readonly dialect: string;
  readonly title: string;
  readonly serial: SerialDefaults;
  /** Several instruments that say so may be connected to one line: they take turns on it. Default: one line each. */
  readonly sharesLine?: boolean;
  /** Every setting has a default or is named in the message that refuses its absence. */
  readonly settings: z.ZodType<Settings, unknown>;
  /** Streams it will deliver under these settings. */
  streams(instrument: string, settings: Settings): StreamDescriptor[];
  /** What a person should know of an instrument under these settings, each a sentence; absent: nothing. */
  remarks?(settings: Settings): string[];
  /** After how long without the program it sets its own outputs to rest, s; absent or null: it does not. */
  ownTimeoutSeconds?(settings: Settings): number | null;
  /** How one is recognised at a port; absent or null: nothing that it says tells it. */
  identify?(settings: Settings): Identification | null;
  /** What it sends at the least; absent or null: nothing at intervals. */
  wireLoad?(settings: Settings): WireLoad | null;
  open(context: DriverContext<Settings>): DriverSession;
  /**
   * The same settings for one who only listens: nothing is asked at intervals of its own, every line counts as wanted.
   * Absent where settings ask nothing.
   */
  listening?(settings: Settings): Settings;
}

/** What a driver reports. Readings carry the arrival stamp of the bytes that completed them. */
export interface DriverSink {
  reading(stream: string, value: number, atMicroseconds: number): void;
  /** `byteCount`: wire bytes that the problem accounts for, 0 when it is not about bytes. */
  problem(code: ProblemCode, detail: string, byteCount: number, atMicroseconds: number): void;
  /** Bytes that were understood but are not a reading: acknowledgements, echoes, identification. */
  understood(byteCount: number, atMicroseconds: number): void;
}

export interface DriverContext<Settings> {
  /** Name of the instrument in the rig, used in every message. */
  readonly instrument: string;
  readonly settings: Settings;
  readonly transport: Transport;
  readonly timers: Timers;
  readonly lines: LineFramerFactory;
  readonly sink: DriverSink;
  /**
   * When the driver is opened, on the clock of the transport's stamps, µs. With it silence is watched from the opening
   * on; without it from the first bytes on, because a driver has no clock of its own.
   */
  readonly openedAtMicroseconds?: number;
}

/**
 * An open conversation with one instrument. Readings and problems flow to the sink from `open` on. A session is
 * bound to one transport: after the connection breaks it is over, and a new one is opened on the new transport.
 * The driver takes the transport's `onBytes` and `onClose`; the host wraps the transport before handing it over
 * when it wants to see bytes too.
 */
export interface DriverSession {
  /** Bytes received that are accounted for so far: in readings, understood, problems (pending ones not). */
  readonly accountedBytes: number;
  /** Present when the instrument can switch ports. */
  readonly selector?: PortSelector;
  /** Present when something can be set: a load, a beacon. */
  readonly actuator?: Actuator;
  /**
   * For one who only listens: these bytes were sent to the instrument. Present where the meaning of what arrives
   * depends on what was asked.
   */
  overhear?(bytes: Uint8Array): void;
  /** Ends the conversation; every pending request settles with `transport-closed`. Does not close the transport. */
  end(): void;
}

/** Verb of instruments that connect one port at a time. */
export interface PortSelector {
  /**
   * Asks for a port and resolves when the instrument confirms that it is there.
   * @returns when it was confirmed: the stamp of the acknowledging bytes, µs.
   * @throws ChambersideError `request-timed-out`, `request-refused`, `answer-unexpected` (confirmed another
   *   port), `request-cancelled`, `transport-closed`, `port-failed`.
   */
  select(port: number, cancellation?: Cancellation): Promise<{ readonly atMicroseconds: number }>;
  /** Asks where it stands. Errors as `select`. */
  position(cancellation?: Cancellation): Promise<{ readonly port: number; readonly atMicroseconds: number }>;
}

/** Something that can be set. */
export interface OutputDescriptor {
  readonly output: string;
  readonly unit: Unit;
  readonly low: number;
  readonly high: number;
  /** The value that hurts nobody: a load of zero, a beacon that is off. */
  readonly restValue: number;
}

/** Verb of instruments that act on the chamber or its subject. */
export interface Actuator {
  readonly outputs: readonly OutputDescriptor[];
  /**
   * Sets an output and resolves when the instrument has said that it did.
   * @returns when it said so: the stamp of the acknowledging bytes, µs.
   * @throws ChambersideError as `PortSelector.select`; `request-refused` for an output or value that there is not.
   */
  set(output: string, value: number, cancellation?: Cancellation): Promise<{ readonly atMicroseconds: number }>;
}
