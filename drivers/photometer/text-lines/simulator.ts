import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { createLineFramer } from '../../framing/line.ts';
import { createFaultyWire } from '../../simulation/faulty-wire.ts';
import { everyInterval } from '../../simulation/grid.ts';
import { createPhotometerCodec } from './codec.ts';
import type { PhotometerSettings } from './manifest.ts';

export interface PhotometerWorld {
  /** What the photometer shows at this moment, in `settings.unit`. Called once for each line. */
  readConcentration(): number;
  /** Between two lines of an instrument that prints on its own, µs, > 0. */
  readonly intervalMicroseconds: number;
}

/** A photometer that prints at a fixed interval from `start` on, or answers when `settings.poll` says so. */
export function createPhotometerSimulator(
  settings: PhotometerSettings,
  context: SimulatorContext,
  world: PhotometerWorld,
): Simulator {
  const codec = createPhotometerCodec(settings);
  const wire = createFaultyWire({ context, delimiter: settings.terminator, spoilChecksum: codec.spoilChecksum });
  const goodStatus = settings.goodStatus[0] ?? '';
  let on = false;
  let cancelPrinting: Cancel | undefined;

  const print = (): void => {
    wire.sendLine(codec.encode(world.readConcentration(), goodStatus));
  };
  const commands = createLineFramer({
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line) {
      if (line.trim() === settings.poll?.command) print();
    },
    onSetAside() {
      // An instrument says nothing to noise on its input.
    },
  });

  return {
    start() {
      if (on) return;
      on = true;
      if (settings.poll === null) cancelPrinting = everyInterval(context.timers, world.intervalMicroseconds, print);
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
