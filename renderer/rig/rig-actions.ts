import type { ReactNode } from 'react';
import type { CheckBeginning, CheckChoice } from '../../src/bridge/checks.ts';
import type { RigDifferenceAsk, RigVersion } from '../../src/bridge/contract.ts';
import type { ConnectionSettings } from '../../src/bridge/snapshot.ts';
import type { WireView } from '../../src/bridge/wire.ts';
import type { KeptCheck } from '../../src/calibration/check/standing.ts';
import type { Answers, CheckRecord } from '../../src/calibration/check/step.ts';
import type { RigChange } from '../../src/model/rig-difference.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { Outcome } from '../ui/use-perform.ts';
import type { OfferedDialect } from './add-instrument.tsx';
import type { PortActions } from './find-port.tsx';

/** What the rig screen asks of the host and of the window. */
export interface RigActions extends PortActions {
  readonly startVirtual: (scenario: string, seed: number | null) => Promise<Outcome<unknown>>;
  readonly open: (name: string) => Promise<Outcome<unknown>>;
  readonly close: () => Promise<Outcome<unknown>>;
  readonly selectPort: (port: number) => Promise<Outcome<unknown>>;
  readonly retry: (instrument: string) => Promise<Outcome<unknown>>;
  readonly connect: (instrument: string, settings: ConnectionSettings) => Promise<Outcome<unknown>>;
  /** Empty when the host does not say. */
  readonly dialects: () => Promise<readonly OfferedDialect[]>;
  readonly template: () => Promise<Outcome<Rig>>;
  /** Stores the rig, opens it, and says where its instruments are. */
  readonly saveAndOpen: (rig: Rig, connections: ReadonlyMap<string, ConnectionSettings>) => Promise<Outcome<unknown>>;
  readonly beginCheck: (beginning: CheckBeginning) => Promise<Outcome<unknown>>;
  readonly answerCheck: (answers: Answers) => Promise<Outcome<unknown>>;
  readonly cancelCheck: () => Promise<Outcome<unknown>>;
  /** Newest first. The same function for as long as the screen is there. */
  readonly checkHistory: (choice: CheckChoice) => Promise<Outcome<readonly KeptCheck[]>>;
  readonly checkGround: (
    number: number,
  ) => Promise<Outcome<{ readonly ground: { readonly rig: Rig; readonly record: CheckRecord } | null }>>;
  /** Both the same functions for as long as the screen is there. */
  readonly versions: (name: string) => Promise<Outcome<readonly RigVersion[]>>;
  readonly difference: (asked: RigDifferenceAsk) => Promise<Outcome<{ readonly changes: readonly RigChange[] }>>;
  /** The same function for as long as the screen is there. */
  readonly wire: (instrument: string, after: number | null) => Promise<Outcome<WireView>>;
  readonly beginCapture: (instrument: string) => Promise<Outcome<unknown>>;
  readonly endCapture: (instrument: string) => Promise<Outcome<unknown>>;
  readonly toPlan: () => void;
  readonly toPerson: () => void;
  /** Wall clock, ms since 1970. */
  readonly now: () => number;
}

/** Readings as they arrive. `stream` is an index of the snapshot's list. */
export interface LiveReadings {
  /** Newest reading in the stream's unit; null when there is none, or it is too old to be one. */
  readonly newest: (stream: number) => number | null;
  /** Readings a second over the last seconds; null when not known. */
  readonly perSecond: (stream: number) => number | null;
  /** A minute of the stream, drawn. */
  readonly signal: (stream: number, label: string) => ReactNode;
}
