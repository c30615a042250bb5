import { createVirtualRig, type VirtualRigOptions, type VirtualWire } from '../../../drivers/virtual-rig/index.ts';
import type { Clock } from '../../device/timers.ts';
import type { Connection, Transport } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { createInProcessPair, type InstrumentEnd } from '../transport/in-process.ts';
import { presentConnection, type CableChange, type RunningRig } from './running-rig.ts';

export interface InProcessRigOptions extends Omit<VirtualRigOptions, 'clock' | 'onCable'> {
  /** Virtual, or the machine's. */
  readonly clock: Clock;
  /** From an instrument to the program and back, µs ≥ 0. Default 0. */
  readonly latencyMicroseconds?: number;
}

export interface InProcessRig extends RunningRig {
  /**
   * The program's end of an instrument's cable. One program an instrument: a second is refused until the first has
   * closed. Stamps with `now`, by default the rig's clock.
   * @throws ChambersideError `port-not-found` while the cable is pulled, `port-busy`.
   */
  connect(instrument: string, now?: () => number): Transport;
}

/** A virtual rig in this process, on any clock, with cables that exist only in memory. Errors as createVirtualRig. */
export function createInProcessRig(options: InProcessRigOptions): InProcessRig {
  const { latencyMicroseconds = 0, ...rigOptions } = options;
  const { clock } = options;
  const monotonicOriginMicroseconds = clock.now();
  const connections = new Map<string, Connection>();
  const cables = new Map<string, { readonly end: InstrumentEnd; readonly wire: VirtualWire }>();
  const names = new Map<string, number>();
  const listeners: ((change: CableChange) => void)[] = [];
  let stopped = false;

  const tell = (change: CableChange): void => {
    for (const listener of listeners) listener(change);
  };

  const virtual = createVirtualRig({
    ...rigOptions,
    onCable({ instrument, state, newName }) {
      if (state === 'pulled') {
        connections.delete(instrument);
        cables.get(instrument)?.end.close('the cable was pulled');
        tell({ instrument, state });
        return;
      }
      const number = (names.get(instrument) ?? 1) + (newName ? 1 : 0);
      names.set(instrument, number);
      const connection: Connection = {
        transport: 'in-process',
        name: number === 1 ? instrument : `${instrument}-${number}`,
      };
      connections.set(instrument, connection);
      tell({ instrument, state, connection });
    },
  });
  for (const { instrument } of virtual.rig.instruments) {
    connections.set(instrument, { transport: 'in-process', name: instrument });
  }

  const connect = (instrument: string, now: () => number = clock.now): Transport => {
    const connection = presentConnection(connections, instrument);
    const name = connection.transport === 'in-process' ? connection.name : instrument;
    if (cables.has(instrument)) {
      throw new ChambersideError(
        'port-busy',
        `${instrument} is connected already`,
        `in-process ${name}`,
        'Close the other connection first.',
      );
    }
    const { program, instrument: end } = createInProcessPair(name, clock, { latencyMicroseconds, now });
    const wire = virtual.connect(instrument, end.send);
    end.onBytes((bytes) => wire.receive(bytes));
    if (wire.controlLines !== undefined) end.attachControlLines(wire.controlLines);
    end.onClose(() => {
      cables.delete(instrument);
      wire.disconnect();
    });
    cables.set(instrument, { end, wire });
    return program;
  };

  return {
    rig: virtual.rig,
    series: virtual.series,
    connections,
    monotonicOriginMicroseconds,
    connect,
    open: async (instrument, now) => connect(instrument, now),
    cue: (cue) => virtual.cue(cue),
    inject: (fault) => virtual.inject(fault),
    handle: (hand) => virtual.handle(hand),
    onCable: (listener) => {
      listeners.push(listener);
    },
    async stop() {
      if (stopped) return;
      stopped = true;
      virtual.stop();
      connections.clear();
      for (const { end } of cables.values()) end.close('the virtual rig was stopped');
      await Promise.resolve();
    },
  };
}
