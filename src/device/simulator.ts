import type { ControlLineState, ControlOutputs } from './control-lines.ts';
import type { Timers } from './timers.ts';

/** A simulated instrument's end of the wire. */
export interface SimulatorContext {
  readonly timers: Timers;
  /** Seeded, uniform in [0, 1). */
  readonly random: () => number;
  /** Puts bytes on the wire towards the program. */
  readonly send: (bytes: Uint8Array) => void;
}

/** Ways to misbehave that every simulator has. Seconds are from now. */
export type WireFault =
  | { readonly fault: 'garbage'; readonly seconds: number }
  | { readonly fault: 'truncated'; readonly seconds: number }
  | { readonly fault: 'merged'; readonly seconds: number }
  | { readonly fault: 'wrong-checksum'; readonly seconds: number }
  | { readonly fault: 'silence'; readonly seconds: number }
  | { readonly fault: 'frozen'; readonly seconds: number };

/** A simulated instrument's end of the control lines, where it has some. */
export interface SimulatedControlLines {
  /** What the program reads at this moment. */
  read(): ControlLineState;
  /** The program has set its own. */
  set(outputs: ControlOutputs): void;
}

/** What every simulated instrument does; each folder adds the inputs that its own quantity needs. */
export interface Simulator {
  /** Power on: from now on it speaks. */
  start(): void;
  /** Power off: no timer is left behind. */
  stop(): void;
  /** Bytes from the program. */
  receive(bytes: Uint8Array): void;
  inject(fault: WireFault): void;
  /** A cable has been put in: some instruments then say at once how they stand. */
  connected?(): void;
  readonly controlLines?: SimulatedControlLines;
}
