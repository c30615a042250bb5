import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { createLineFramer } from '../../framing/line.ts';
import { createFaultyWire } from '../../simulation/faulty-wire.ts';
import { encodeVolts, errorCommand, identifyCommand, voltsOf } from './codec.ts';
import type { MultimeterSettings } from './manifest.ts';

export interface MultimeterWorld {
  /** What the photometer shows at this moment, in `settings.unit`; NaN and ±Infinity as the multimeter says them. */
  readConcentration(): number;
}

/** Most errors that the queue holds; the last is then −350. */
const queueLength = 10;

/** A multimeter at the output of a photometer: identification, error queue, one voltage for each question. */
export function createMultimeterSimulator(
  settings: MultimeterSettings,
  context: SimulatorContext,
  world: MultimeterWorld,
): Simulator {
  const wire = createFaultyWire({ context, delimiter: settings.terminator });
  const same = (one: string, other: string): boolean => one.toUpperCase() === other.toUpperCase();
  let on = false;
  let errors: string[] = [];
  const commands = createLineFramer({
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line) {
      const command = line.trim();
      if (same(command, identifyCommand)) {
        wire.sendLine('Chamberside,virtual multimeter,0,0');
      } else if (same(command, settings.query)) {
        wire.sendLine(encodeVolts(voltsOf(world.readConcentration(), settings)));
      } else if (same(command, errorCommand) || same(command, 'SYSTEM:ERROR?')) {
        wire.sendLine(errors.shift() ?? '0,"No error"');
      } else if (same(command, '*CLS')) {
        errors = [];
      } else if (!settings.setup.some((known) => same(known, command))) {
        if (errors.length < queueLength) errors.push('-113,"Undefined header"');
        else errors[queueLength - 1] = '-350,"Queue overflow"';
      }
    },
    onSetAside() {
      errors.push('-102,"Syntax error"');
    },
  });
  return {
    start() {
      on = true;
    },
    stop() {
      on = false;
      errors = [];
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
