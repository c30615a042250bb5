import type { Clock } from '../../src/device/timers.ts';
import type { SimulatedControlLines, WireFault } from '../../src/device/simulator.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { Series } from '../../src/model/series.ts';
import type { ContactStream } from '../../src/model/contact.ts';
import type { ContactFault } from '../simulation/contact.ts';
import type { Scenario } from './scenario.ts';

/** What the virtual subject hears: the same cues that a person would. */
export interface SubjectCue {
  readonly cue: 'enter' | 'rest' | 'begin' | 'end' | 'stop' | 'leave';
  readonly exercise: string | null;
}

/** Something that goes wrong, now. Seconds are from now; instrument names are those of the rig. */
export type RigFault =
  | { readonly fault: 'wire'; readonly instrument: string; readonly wire: WireFault }
  | { readonly fault: 'unplug'; readonly instrument: string; readonly seconds: number; readonly newName: boolean }
  | { readonly fault: 'generator-stops'; readonly seconds: number }
  | { readonly fault: 'line-blocked'; readonly probe: string; readonly seconds: number }
  | { readonly fault: 'contact-lost'; readonly seconds: number }
  /** The subject presses their stop, and lets go. */
  | { readonly fault: 'subject-stop'; readonly seconds: number }
  /** A contact of the rig fails, whoever presses it. */
  | {
      readonly fault: 'contact';
      readonly contact: ContactStream;
      readonly failure: ContactFault;
      readonly seconds: number;
    }
  | { readonly fault: 'valve'; readonly behaviour: 'late' | 'wrong' | 'never'; readonly seconds: number }
  /** Chamber air comes in through a joint before the valve and takes this share of what arrives, percent. */
  | { readonly fault: 'line-leaks'; readonly probe: string; readonly percent: number; readonly seconds: number }
  /** Opened and closed again, as when the subject enters. */
  | { readonly fault: 'door-opens' }
  /** The photometer's zero moves at once and stays, percent of the nominal challenge. */
  | { readonly fault: 'zero-jump'; readonly percentOfChallenge: number }
  /** The photometer's span moves at once and stays, percent. */
  | { readonly fault: 'span-jump'; readonly percent: number };

/** What a technician does at the end of a line with their own hands; it stays until something else is done there. */
export type RigHand =
  /** Left where it belongs, hung beside the reference point, or a filter put on. */
  | { readonly hand: 'inlet'; readonly probe: string; readonly air: 'own' | 'chamber' | 'filtered' }
  /** A calibration source that gives exactly this concentration, in the photometer's unit. */
  | { readonly hand: 'source'; readonly probe: string; readonly concentration: number }
  /** Hung at a place of the chamber, which may be more or less dense than the reference point. */
  | { readonly hand: 'place'; readonly probe: string; readonly place: string };

/** What the program did to the virtual laboratory, and when it was so: what a test reads back. */
export type RigAct =
  /** The brake of the ergometer, W. */
  | { readonly act: 'load'; readonly instrument: string; readonly watts: number; readonly atMicroseconds: number }
  /** The valve stands there: the move is over. */
  | { readonly act: 'valve'; readonly instrument: string; readonly port: number; readonly atMicroseconds: number };

/** Where the true concentrations go while the rig runs. Append-only; never read by the program under test. */
export interface TruthSink {
  append(bytes: Uint8Array): void;
}

/** The instrument's end of one cable. */
export interface VirtualWire {
  /** Bytes from the program. */
  receive(bytes: Uint8Array): void;
  /** The program's side is gone; the instrument goes on, its bytes are lost. */
  disconnect(): void;
  /** Present where the instrument stands on the lines of the port besides those of the bytes. */
  readonly controlLines?: SimulatedControlLines | undefined;
}

export interface VirtualRigOptions {
  readonly scenario: Scenario;
  /** Whole number; the same seed gives the same physics to the last bit, whatever the speed. */
  readonly seed: number;
  /** Monotonic time: virtual in-process, the machine's in a process of its own. Truth is stamped with it. */
  readonly clock: Clock;
  readonly truth: TruthSink | null;
  /** A cable is pulled, or put back (then possibly under another name). The owner of the wires acts on it. */
  readonly onCable?: (change: {
    readonly instrument: string;
    readonly state: 'pulled' | 'back';
    readonly newName: boolean;
  }) => void;
  /** The program has changed something; stamped with `clock`. */
  readonly onAct?: (act: RigAct) => void;
  /**
   * For a rehearsal that goes on after a break: the subject is inside already, the chamber full, and the zones as
   * this movement (null: rest) holds them. True values are those of the seed; noise is not repeated.
   */
  readonly startedInside?: { readonly exercise: string | null };
}

/** A rig that exists only in software and speaks bytes. */
export interface VirtualRig {
  /** What the laboratory would have on paper: certificate values, never the true draws. */
  readonly rig: Rig;
  readonly series: Series;
  /** Attaches a cable to an instrument, which speaks through `send` from now on. One cable an instrument. */
  connect(instrument: string, send: (bytes: Uint8Array) => void): VirtualWire;
  cue(cue: SubjectCue): void;
  inject(fault: RigFault): void;
  handle(hand: RigHand): void;
  /** Flushes the truth and leaves no timer behind. */
  stop(): void;
}
