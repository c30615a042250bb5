import type { Connection, Transport } from '../device/transport.ts';
import { ChambersideError } from '../model/error-code.ts';

/** A line that the guard holds for the host, and takes for itself when the host is gone. */
export interface GuardedLine {
  /** Everything on this line. */
  readonly instruments: readonly string[];
  /** It is open at this moment. */
  readonly isOpen: boolean;
  /** The host has nothing to say on it. */
  readonly isHeld: boolean;
  /** From the host to the instrument; dropped while the guard has the line for itself. */
  write(bytes: Uint8Array): void;
  /**
   * From now on what comes goes to `taken` alone. The host is told why its connection is over, or, with null, not yet:
   * then `close` tells it.
   */
  take(reason: string | null): void;
  /** What comes goes to the host again. */
  giveBack(): void;
  /**
   * The guard's own end of the line, opened again if it broke. To be used after `take`.
   * @throws what opening throws, and ChambersideError `port-busy` when its port has been given back.
   */
  taken(): Promise<Transport>;
  /** Gives the port back, to be opened anew: nothing opens it from here until it is reclaimed. The host is told. */
  yieldPort(reason: string): Promise<void>;
  /** It was not opened anew, or was while the loads were taken: then that is the guard's own end of it. */
  reclaim(transport: Transport | null): void;
  /** Gives the port back for good. The host is told, unless it was before. */
  close(reason: string): Promise<void>;
}

export interface GuardedLineOptions {
  readonly connection: Connection;
  readonly instruments: readonly string[];
  readonly transport: Transport;
  /** Opens the same connection again. */
  readonly reopen: () => Promise<Transport>;
  /** Towards the host. */
  readonly onBytes: (bytes: Uint8Array, atMicroseconds: number) => void;
  /** The host's connection is over; told once. */
  readonly onClosed: (reason: string) => void;
}

export function createGuardedLine(options: GuardedLineOptions): GuardedLine {
  let own: ((bytes: Uint8Array, atMicroseconds: number) => void) | undefined;
  let ownClose: ((reason: string) => void) | undefined;
  let present: Transport | undefined;
  let forHost = true;
  let told = false;
  let facade: { readonly of: Transport; readonly transport: Transport } | undefined;
  let reopening: Promise<Transport> | undefined;
  /** Its port belongs to somebody else now. */
  let given: 'no' | 'yielded' | 'closed' = 'no';

  const mustBeOurs = (): void => {
    if (given === 'no') return;
    const where = options.instruments.join(', ');
    throw new ChambersideError('port-busy', 'the guard has given its port back', where, 'Open it again.');
  };

  const tellHost = (reason: string): void => {
    forHost = false;
    if (told) return;
    told = true;
    options.onClosed(reason);
  };
  const adopt = (transport: Transport): Transport => {
    present = transport;
    transport.onBytes((bytes, atMicroseconds) => {
      if (forHost) options.onBytes(bytes, atMicroseconds);
      else own?.(bytes, atMicroseconds);
    });
    transport.onClose((reason) => {
      if (present !== transport) return;
      present = undefined;
      // One that is being given back is over when its port is free.
      if (forHost) tellHost(reason);
      ownClose?.(reason);
    });
    return transport;
  };
  adopt(options.transport);
  const giveUp = async (reason: string): Promise<void> => {
    const closing = present;
    present = undefined;
    forHost = false;
    await closing?.close();
    tellHost(reason);
  };

  return {
    instruments: options.instruments,
    get isOpen() {
      return present !== undefined;
    },
    get isHeld() {
      return !forHost && given === 'no';
    },
    write(bytes) {
      if (forHost) present?.write(bytes);
    },
    take(reason) {
      forHost = false;
      if (reason !== null) tellHost(reason);
    },
    giveBack() {
      forHost = true;
    },
    async taken() {
      mustBeOurs();
      if (present === undefined) {
        reopening ??= options.reopen().finally(() => {
          reopening = undefined;
        });
        const opened = await reopening;
        // Given back while it was being opened, or there again by another way: nobody must find it held.
        if (given !== 'no' || (present !== undefined && present !== opened)) await opened.close();
        else if (present === undefined) adopt(opened);
        mustBeOurs();
      }
      const transport = present as Transport;
      if (facade?.of !== transport) {
        const mine: Transport = {
          label: transport.label,
          write: (bytes) => transport.write(bytes),
          onBytes(listener) {
            own = listener;
          },
          onClose(listener) {
            ownClose = listener;
          },
          close: () => Promise.resolve(),
        };
        facade = { of: transport, transport: mine };
      }
      return facade.transport;
    },
    async yieldPort(reason) {
      if (given === 'no') given = 'yielded';
      await giveUp(reason);
    },
    reclaim(transport) {
      if (given !== 'yielded') return;
      given = 'no';
      if (transport !== null) adopt(transport);
    },
    async close(reason) {
      given = 'closed';
      await giveUp(reason);
    },
  };
}
