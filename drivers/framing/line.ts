import { bytesToText } from '../../src/model/bytes.ts';
import type { LineFramer, LineFramerFactory, LineFramerOptions } from '../../src/device/framing.ts';

/** Largest cap that `LineFramerOptions.capBytes` allows, bytes. */
const largestCapBytes = 65_536;

/**
 * The pure line framer: any chunking of the same bytes gives the same lines and the same total set aside. A line
 * longer than the cap is set aside in pieces while it grows, so that a stream without any delimiter (a wrong baud
 * rate) is reported at once and memory stays bounded.
 * @throws RangeError for a delimiter that is not 1 or 2 bytes, or a cap outside 1 to 65536.
 */
export const createLineFramer: LineFramerFactory = (options: LineFramerOptions): LineFramer => {
  const { delimiter, capBytes, onLine, onSetAside } = options;
  if (delimiter.length < 1 || delimiter.length > 2 || /[^\u0000-\u00ff]/.test(delimiter)) {
    throw new RangeError(`a delimiter has 1 or 2 bytes, not ${JSON.stringify(delimiter)}`);
  }
  if (!Number.isInteger(capBytes) || capBytes < 1 || capBytes > largestCapBytes) {
    throw new RangeError(`the cap must be a whole number from 1 to ${largestCapBytes}, not ${capBytes}`);
  }
  let pending = '';
  /** Part of the present line has been set aside already: the rest of it follows. */
  let overlong = false;

  /** How much of `pending` belongs to the line for certain: the last byte may be half a delimiter. */
  const certainLength = (): number =>
    delimiter.length === 2 && pending.endsWith(delimiter.charAt(0)) ? pending.length - 1 : pending.length;

  return {
    get pendingBytes() {
      return pending.length;
    },
    push(bytes, atMicroseconds) {
      let searchFrom = Math.max(0, pending.length - delimiter.length + 1);
      pending += bytesToText(bytes);
      let lineStart = 0;
      for (;;) {
        const found = pending.indexOf(delimiter, searchFrom);
        if (found < 0) break;
        const length = found - lineStart;
        const end = found + delimiter.length;
        if (overlong || length > capBytes) {
          if (length > 0) onSetAside(length, 'too-long', atMicroseconds);
        } else if (length > 0) {
          onLine(pending.slice(lineStart, found), atMicroseconds);
        }
        overlong = false;
        lineStart = end;
        searchFrom = end;
      }
      pending = pending.slice(lineStart);
      const certain = certainLength();
      if (certain > capBytes) {
        pending = pending.slice(certain);
        overlong = true;
        onSetAside(certain, 'too-long', atMicroseconds);
      }
    },
    end(atMicroseconds) {
      const length = pending.length;
      const reason = overlong ? 'too-long' : 'incomplete';
      pending = '';
      overlong = false;
      if (length > 0) onSetAside(length, reason, atMicroseconds);
    },
    discardPending() {
      const length = pending.length;
      pending = '';
      overlong = false;
      return length;
    },
  };
};
