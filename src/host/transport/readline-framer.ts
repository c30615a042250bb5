import { ReadlineParser } from '@serialport/parser-readline';
import type { LineFramerFactory } from '../../device/framing.ts';

const largestCapBytes = 65_536;

/**
 * The line framer at the host's edge, in front of real ports: lines are cut by the serial library's own parser.
 * That parser buffers without limit and delivers when its stream machinery likes, so a cap stands before it: it
 * holds the pending part, hands over complete lines only, and notes for each the stamp of the chunk that completed
 * it. Accounting and order are those of the pure framer, against which a contract test holds it.
 * @throws RangeError for a delimiter that is not 1 or 2 bytes, or a cap outside 1 to 65536.
 */
export const createReadlineFramer: LineFramerFactory = ({ delimiter, capBytes, onLine, onSetAside }) => {
  if (delimiter.length < 1 || delimiter.length > 2 || /[^\u0000-\u00ff]/.test(delimiter)) {
    throw new RangeError(`a delimiter has 1 or 2 bytes, not ${JSON.stringify(delimiter)}`);
  }
  if (!Number.isInteger(capBytes) || capBytes < 1 || capBytes > largestCapBytes) {
    throw new RangeError(`the cap must be a whole number from 1 to ${largestCapBytes}, not ${capBytes}`);
  }
  const delimiterBytes = Buffer.from(delimiter, 'latin1');
  // Object mode keeps one line one item, however many are read at a time.
  const parser = new ReadlineParser({ delimiter, encoding: 'latin1', readableObjectMode: true });
  /** Stamps of lines that the parser has been given and has not delivered yet. */
  const stamps: number[] = [];
  let pending: Buffer = Buffer.alloc(0);
  /** Part of the present line has been set aside already: the rest of it follows. */
  let overlong = false;

  const deliver = (): void => {
    for (;;) {
      const line: unknown = parser.read();
      if (typeof line !== 'string') return;
      const atMicroseconds = stamps.shift();
      if (atMicroseconds !== undefined) onLine(line, atMicroseconds);
    }
  };
  parser.on('readable', deliver);

  const takeLine = (length: number, atMicroseconds: number): void => {
    const line = pending.subarray(0, length + delimiterBytes.length);
    const tooLong = overlong || length > capBytes;
    // State is complete before a listener is called: it may end the stream.
    pending = pending.subarray(line.length);
    overlong = false;
    if (length === 0) return;
    if (tooLong) {
      onSetAside(length, 'too-long', atMicroseconds);
      return;
    }
    stamps.push(atMicroseconds);
    parser.write(line);
    deliver();
  };

  const drop = (): { length: number; wasOverlong: boolean } => {
    const dropped = { length: pending.length, wasOverlong: overlong };
    pending = Buffer.alloc(0);
    overlong = false;
    return dropped;
  };

  return {
    get pendingBytes() {
      return pending.length;
    },
    push(bytes, atMicroseconds) {
      let searchFrom = Math.max(0, pending.length - delimiterBytes.length + 1);
      pending = Buffer.concat([pending, bytes]);
      for (;;) {
        const length = pending.indexOf(delimiterBytes, searchFrom);
        if (length < 0) break;
        searchFrom = 0;
        takeLine(length, atMicroseconds);
      }
      const halfDelimiter = delimiterBytes.length === 2 && pending.at(-1) === delimiterBytes[0] ? 1 : 0;
      const certain = pending.length - halfDelimiter;
      if (certain > capBytes) {
        pending = pending.subarray(certain);
        overlong = true;
        onSetAside(certain, 'too-long', atMicroseconds);
      }
    },
    end(atMicroseconds) {
      const { length, wasOverlong } = drop();
      if (length > 0) onSetAside(length, wasOverlong ? 'too-long' : 'incomplete', atMicroseconds);
    },
    discardPending: () => drop().length,
  };
};
