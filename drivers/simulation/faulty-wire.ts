import type { SimulatorContext, WireFault } from '../../src/device/simulator.ts';
import type { Cancel } from '../../src/device/timers.ts';
import { bytesToText, textToBytes } from '../../src/model/bytes.ts';
import { toMicroseconds } from '../../src/model/time.ts';

/** The line from a simulated instrument to the program, with everything that can go wrong on it. */
export interface FaultyWire {
  /** Sends a line (without its delimiter), spoiled by the faults that are active. */
  sendLine(line: string): void;
  inject(fault: WireFault): void;
  /** Ends all faults; no timer is left behind. */
  stop(): void;
}

/**
 * Wire faults, the same for every simulated instrument that speaks in lines, or in frames (an empty delimiter):
 * - `silence`: nothing is sent; what the instrument does otherwise goes on.
 * - `frozen`: the last line before the fault is sent instead of each new one.
 * - `wrong-checksum`: `spoilChecksum` changes the line; without effect in dialects that have no checksum.
 * - `garbage`: random bytes stand before the line, or in place of some of its bytes.
 * - `truncated`: the line is cut at a random place; half of the time its delimiter is lost too.
 * - `merged`: the delimiter of every other line is lost, so that two lines become one. Where there is no delimiter
 *   (frames), every other one is kept back and sent together with the next.
 *
 * Randomness is drawn only while a fault that needs it is active.
 */
export function createFaultyWire(options: {
  readonly context: SimulatorContext;
  readonly delimiter: string;
  readonly spoilChecksum?: (line: string) => string;
}): FaultyWire {
  const { context, delimiter, spoilChecksum } = options;
  const active = new Map<WireFault['fault'], Cancel>();
  let lastLine: string | undefined;
  let mergeNext = false;
  let heldBack = '';

  const below = (limit: number): number => Math.floor(context.random() * limit);
  const randomByte = (): number => below(256);

  const garble = (line: string): string => {
    if (line.length === 0 || context.random() < 0.5) {
      let prefix = '';
      for (let count = 1 + below(8); count > 0; count -= 1) prefix += String.fromCharCode(randomByte());
      return prefix + line;
    }
    const bytes = textToBytes(line);
    for (let count = 1 + below(3); count > 0; count -= 1) bytes[below(bytes.length)] = randomByte();
    return bytesToText(bytes);
  };

  return {
    sendLine(line) {
      let sent = line;
      if (active.has('frozen') && lastLine !== undefined) sent = lastLine;
      else lastLine = line;
      if (active.has('silence')) return;
      if (active.has('wrong-checksum') && spoilChecksum !== undefined) sent = spoilChecksum(sent);
      if (active.has('garbage')) sent = garble(sent);
      let end = delimiter;
      if (active.has('truncated')) {
        sent = sent.slice(0, below(sent.length));
        if (context.random() < 0.5) end = '';
      }
      if (active.has('merged')) {
        mergeNext = !mergeNext;
        if (mergeNext) end = '';
        if (mergeNext && delimiter === '') {
          heldBack = sent;
          return;
        }
      }
      const text = heldBack + sent + end;
      heldBack = '';
      if (text.length > 0) context.send(textToBytes(text));
    },
    inject(fault) {
      active.get(fault.fault)?.();
      active.set(
        fault.fault,
        context.timers.after(toMicroseconds(fault.seconds), () => active.delete(fault.fault)),
      );
    },
    stop() {
      for (const cancel of active.values()) cancel();
      active.clear();
      lastLine = undefined;
      mergeNext = false;
      heldBack = '';
    },
  };
}
