import { controlLineEnd, controlLineText, controlOutputText } from '../../device/control-lines.ts';
import type { ControlLines } from '../../device/control-lines.ts';
import type { Transport } from '../../device/transport.ts';
import { textToBytes } from '../../model/bytes.ts';

interface Tap {
  received(bytes: Uint8Array, atMicroseconds: number): void;
  sent(bytes: Uint8Array): void;
}

function tapControlLines(lines: ControlLines, tap: Tap): ControlLines {
  return {
    async read() {
      const look = await lines.read();
      tap.received(textToBytes(controlLineText(look.state) + controlLineEnd), look.atMicroseconds);
      return look;
    },
    set(outputs) {
      tap.sent(textToBytes(controlOutputText(outputs) + controlLineEnd));
      return lines.set(outputs);
    },
  };
}

/**
 * A transport that lets somebody else see every byte in both directions before the driver acts on it. Raw bytes
 * are stored as they were, whatever the driver makes of them. A look at control lines, and what they are set to, is
 * stored as a line of text, because no bytes travel there.
 */
export function tapTransport(
  transport: Transport,
  tap: Tap,
): Transport {
  return {
    label: transport.label,
    turns: transport.turns,
    controlLines: transport.controlLines === undefined ? undefined : tapControlLines(transport.controlLines, tap),
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
