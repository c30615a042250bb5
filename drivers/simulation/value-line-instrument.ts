import type { Simulator, SimulatorContext } from '../../src/device/simulator.ts';
import type { Cancel } from '../../src/device/timers.ts';
import { createLineFramer } from '../framing/line.ts';
import type { ValueLineCodec, ValueLineSettings } from '../framing/value-line.ts';
import { createFaultyWire } from './faulty-wire.ts';
import { everyInterval } from './grid.ts';

export interface ValueLineInstrumentOptions {
  readonly settings: ValueLineSettings;
  readonly context: SimulatorContext;
  readonly codec: ValueLineCodec;
  /** What it shows at this moment, by stream, in its unit. Called once for each line. */
  readonly read: () => ReadonlyMap<string, number>;
  /** Between two lines of an instrument that prints on its own, µs, > 0; null: it prints only when told to. */
  readonly intervalMicroseconds: number | null;
  /** What it says to a line that is no question; undefined: nothing. */
  readonly command?: (line: string) => string | undefined;
}

export interface ValueLineInstrument extends Simulator {
  /** Prints a line now: an event. */
  print(): void;
}

/** A simulated instrument that prints lines of values, or answers when `settings.poll` says so. */
export function createValueLineInstrument(options: ValueLineInstrumentOptions): ValueLineInstrument {
  const { settings, context, codec } = options;
  const wire = createFaultyWire({ context, delimiter: settings.terminator, spoilChecksum: codec.spoilChecksum });
  let on = false;
  let cancelPrinting: Cancel | undefined;
  const print = (): void => {
    if (on) wire.sendLine(codec.encode(options.read()));
  };
  const commands = createLineFramer({
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line) {
      if (line.trim() === settings.poll?.command) {
        print();
        return;
      }
      const answer = options.command?.(line.trim());
      if (answer !== undefined) wire.sendLine(answer);
    },
    onSetAside() {
      // An instrument says nothing to noise on its input.
    },
  });
  return {
    print,
    start() {
      if (on) return;
      on = true;
      if (settings.poll === null && options.intervalMicroseconds !== null) {
        cancelPrinting = everyInterval(context.timers, options.intervalMicroseconds, print);
      }
    },
    stop() {
      on = false;
      cancelPrinting?.();
      cancelPrinting = undefined;
      commands.discardPending();
      wire.stop();
    },
    receive(bytes) {
      if (on) commands.push(bytes, 0);
    },
    inject(fault) {
      wire.inject(fault);
    },
  };
}
