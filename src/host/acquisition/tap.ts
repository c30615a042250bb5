import type { Transport } from '../../device/transport.ts';

/**
 * A transport that lets somebody else see every byte in both directions before the driver acts on it. Raw bytes
 * are stored as they were, whatever the driver makes of them.
 */
export function tapTransport(
  transport: Transport,
  tap: {
    received(bytes: Uint8Array, atMicroseconds: number): void;
    sent(bytes: Uint8Array): void;
  },
): Transport {
  return {
    label: transport.label,
    turns: transport.turns,
    write(bytes) {
      tap.sent(bytes);
      transport.write(bytes);
    },
    onBytes(listener) {
      transport.onBytes((bytes, atMicroseconds) => {
        tap.received(bytes, atMicroseconds);
        listener(bytes, atMicroseconds);
      });
    },
    onClose(listener) {
      transport.onClose(listener);
    },
    close: () => transport.close(),
  };
}
