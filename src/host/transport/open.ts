import type { Connection, Transport } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { openSerial } from './serial.ts';
import { openTcp } from './tcp.ts';

/**
 * Opens today's connection of an instrument.
 * @param now the clock of the acquisition, µs: every chunk is stamped with it on arrival.
 * @param openInProcess opens a connection by the name that its rig gave it; needed only for in-process rigs.
 * @throws ChambersideError `port-not-found`, `port-busy`, `port-failed`.
 */
export async function openTransport(
  connection: Connection,
  now: () => number,
  openInProcess?: (name: string) => Transport,
): Promise<Transport> {
  switch (connection.transport) {
    case 'serial':
      return openSerial(connection, now);
    case 'tcp':
      return openTcp(connection, now);
    case 'in-process':
      if (openInProcess !== undefined) return openInProcess(connection.name);
      throw new ChambersideError(
        'port-not-found',
        'an in-process connection exists only inside the program that made its rig',
        `in-process ${connection.name}`,
        'Name a serial port or a TCP address.',
      );
  }
}
