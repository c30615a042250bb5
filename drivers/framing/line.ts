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
      for (;;) {
        const length = pending.indexOf(delimiter, searchFrom);
        if (length < 0) break;
        const line = pending.slice(0, length);
        const setAside = overlong || length > capBytes;
        // State is complete before the listener is called: it may end the stream.
        pending = pending.slice(length + delimiter.length);
        overlong = false;
        searchFrom = 0;
        if (length === 0) continue;
        if (setAside) onSetAside(length, 'too-long', atMicroseconds);
        else onLine(line, atMicroseconds);
      }
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
