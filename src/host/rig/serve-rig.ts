import type { VirtualRig, VirtualRigOptions, VirtualWire } from '../../../drivers/virtual-rig/contract.ts';
import type { Connection } from '../../device/transport.ts';
import type { RigWire, RigWires } from './rig-wires.ts';
import type { CableChange } from './running-rig.ts';

export interface ServeRigOptions {
  /** Makes the rig; its cables are handled here. */
  readonly createRig: (onCable: NonNullable<VirtualRigOptions['onCable']>) => VirtualRig;
  readonly wires: RigWires;
  /** Told in order, after the wire is broken or open again. */
  readonly onCable: (change: CableChange) => void;
  /** A wire could not be opened again. */
  readonly onFailure: (error: unknown) => void;
}

export interface ServedRig {
  readonly virtual: VirtualRig;
  /** As they were when the rig began. */
  readonly connections: ReadonlyMap<string, Connection>;
  /** Bytes given up so far because a program did not read, by instrument. */
  droppedBytes(): ReadonlyMap<string, number>;
  stop(): Promise<void>;
}

interface Cable {
  readonly instrument: string;
  wire: RigWire | undefined;
  end: VirtualWire | undefined;
  droppedBefore: number;
  /** Changes are made one after the other: opening a wire takes time. */
  last: Promise<void>;
}

/**
 * Puts a virtual rig on real wires, one per instrument, and pulls and mends them when the rig says so.
 * @throws ChambersideError `rig-process-failed` when a wire cannot be opened at the start.
 */
export async function serveRig(options: ServeRigOptions): Promise<ServedRig> {
  const { wires } = options;
  const cables = new Map<string, Cable>();
  let stopped = false;

  const plug = async (cable: Cable, newName: boolean): Promise<Connection> => {
    const wire = await wires.open(cable.instrument, newName, (bytes) => cable.end?.receive(bytes));
    cable.wire = wire;
    cable.end = virtual.connect(cable.instrument, (bytes) => wire.send(bytes));
    return wire.connection;
  };

  const pull = async (cable: Cable): Promise<void> => {
    const { wire, end } = cable;
    cable.wire = undefined;
    cable.end = undefined;
    end?.disconnect();
    if (wire === undefined) return;
    cable.droppedBefore += wire.droppedBytes;
    await wire.close();
  };

  const virtual = options.createRig(({ instrument, state, newName }) => {
    const cable = cables.get(instrument);
    if (cable === undefined) return;
    cable.last = cable.last
      .then(async () => {
        if (stopped) return;
        if (state === 'pulled') {
          await pull(cable);
          options.onCable({ instrument, state });
        } else if (cable.wire === undefined) {
          options.onCable({ instrument, state, connection: await plug(cable, newName) });
        }
      })
      .catch(options.onFailure);
  });

  const connections = new Map<string, Connection>();
  const close = async (): Promise<void> => {
    stopped = true;
    virtual.stop();
    for (const cable of cables.values()) {
      await cable.last;
      await pull(cable);
    }
    wires.release();
  };

  try {
    for (const { instrument } of virtual.rig.instruments) {
      const cable: Cable = { instrument, wire: undefined, end: undefined, droppedBefore: 0, last: Promise.resolve() };
      cables.set(instrument, cable);
      connections.set(instrument, await plug(cable, false));
    }
  } catch (error) {
    await close();
    throw error;
  }

  return {
    virtual,
    connections,
    droppedBytes: () =>
      new Map(
        [...cables.values()].map((cable) => [cable.instrument, cable.droppedBefore + (cable.wire?.droppedBytes ?? 0)]),
      ),
    async stop() {
      if (!stopped) await close();
    },
  };
}
