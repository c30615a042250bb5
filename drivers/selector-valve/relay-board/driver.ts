import type { DriverContext, DriverSession, PortSelector } from '../../../src/device/driver.ts';
import { createLineReceiver } from '../../../src/device/line-receiver.ts';
import { textToBytes } from '../../../src/model/bytes.ts';
import { ChambersideError } from '../../../src/model/error-code.ts';
import type { ErrorCode } from '../../../src/model/error-code.ts';
import { shown } from '../../framing/decimal.ts';
import { createRelayBoardCodec } from './codec.ts';
import type { RelayBoardSettings } from './manifest.ts';

/**
 * Switches the relay of a port on and all others off, and confirms nothing: every request ends with
 * `position-unconfirmed`, because nothing tells whether the valve moved. Asked for the port that it has switched to
 * already, it switches that relay on again and touches no other.
 */
export function openRelayBoard(context: DriverContext<RelayBoardSettings>): DriverSession {
  const { instrument, settings, sink, transport } = context;
  const codec = createRelayBoardCodec(settings);
  /** The port whose relay was switched on last; undefined: any may be on, from before. */
  let switched: number | undefined;
  let endReason: string | undefined;

  const failure = (code: ErrorCode, what: string, remedy: string): ChambersideError =>
    new ChambersideError(code, `${instrument}: ${what}`, `${instrument}, ${transport.label}`, remedy);
  const mustBeOpen = (command: string): void => {
    if (endReason === undefined) return;
    const what = `"${command}": the connection is closed: ${endReason}`;
    throw failure('transport-closed', what, 'Connect the instrument again.');
  };

  const receiver = createLineReceiver({
    context,
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line, byteCount, atMicroseconds) {
      if (codec.isAnswer(line)) sink.understood(byteCount, atMicroseconds);
      else sink.problem('line-undecodable', `${shown(line)} is no answer of this board`, byteCount, atMicroseconds);
    },
  });

  const selector: PortSelector = {
    async select(port, cancellation) {
      if (!Number.isInteger(port) || port < 1 || port > settings.ports) {
        const remedy = `Ask for a port from 1 to ${settings.ports}, or correct the number of ports in the rig.`;
        throw failure('request-refused', `there is no port ${port}`, remedy);
      }
      const on = codec.encode({ on: true, port });
      mustBeOpen(on);
      if (cancellation?.aborted === true) {
        throw failure('request-cancelled', `"${on}": withdrawn before it was sent`, 'Ask again when it is wanted.');
      }
      const others = Array.from({ length: settings.ports }, (_, index) => index + 1).filter((other) => other !== port);
      // Break before make: two open ports would mix the air of two places.
      const release = switched === undefined ? others : others.filter((other) => other === switched);
      switched = port;
      const lines = [...release.map((other) => codec.encode({ on: false, port: other })), on];
      transport.write(textToBytes(lines.map((line) => line + settings.terminator).join('')));
      throw failure(
        'position-unconfirmed',
        `relay of port ${port} was switched on, and the board cannot say whether the valve moved`,
        'Look at the valve. A valve that says where it stands would confirm it.',
      );
    },
    async position() {
      mustBeOpen('position');
      throw failure('position-unconfirmed', 'the board cannot say where the valve stands', 'Look at the valve.');
    },
  };

  const finish = (reason: string): void => {
    if (endReason !== undefined) return;
    endReason = reason;
    receiver.end();
  };
  transport.onBytes((bytes, atMicroseconds) => {
    receiver.receive(bytes, atMicroseconds);
  });
  transport.onClose(finish);
  return {
    selector,
    get accountedBytes() {
      return receiver.accountedBytes;
    },
    end: () => {
      finish('the conversation was ended');
    },
  };
}
