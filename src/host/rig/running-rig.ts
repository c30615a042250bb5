import type { RigFault, RigHand, SubjectCue } from '../../../drivers/virtual-rig/contract.ts';
import type { Connection, Transport } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';

export type { RigAct, RigFault, RigHand, SubjectCue } from '../../../drivers/virtual-rig/contract.ts';

/** A cable was pulled, or is back under a connection that may have another name than before. */
export type CableChange =
  | { readonly instrument: string; readonly state: 'pulled' }
  | { readonly instrument: string; readonly state: 'back'; readonly connection: Connection };

/** A virtual rig that runs, in this process or in one of its own, as a rehearsal sees it. */
export interface RunningRig {
  readonly rig: Rig;
  readonly series: Series;
  /** Today's connections by instrument; a pulled instrument is missing. Follows the cable changes. */
  readonly connections: ReadonlyMap<string, Connection>;
  /** The monotonic clock of the rig when it began, µs: on the same clock as the stamps in its truth record. */
  readonly monotonicOriginMicroseconds: number;
  /**
   * Opens an instrument where it is connected now.
   * @param now stamps arriving bytes, µs.
   * @throws ChambersideError `port-not-found` while its cable is pulled; `port-busy`, `port-failed`.
   */
  open(instrument: string, now: () => number): Promise<Transport>;
  cue(cue: SubjectCue): void;
  inject(fault: RigFault): void;
  handle(hand: RigHand): void;
  /** One listener more; told after `connections` has changed. */
  onCable(listener: (change: CableChange) => void): void;
  /** Ends the rig: truth flushed, connections broken, nothing left behind. Safe to call twice. */
  stop(): Promise<void>;
}

/** The connection of an instrument. @throws ChambersideError `port-not-found` while its cable is pulled. */
export function presentConnection(connections: ReadonlyMap<string, Connection>, instrument: string): Connection {
  const connection = connections.get(instrument);
  if (connection === undefined) {
    throw new ChambersideError(
      'port-not-found',
      `the cable of ${instrument} is pulled, or the rig has no such instrument`,
      `virtual rig, ${instrument}`,
      'Wait until the cable is back, or check the name.',
    );
  }
  return connection;
}
