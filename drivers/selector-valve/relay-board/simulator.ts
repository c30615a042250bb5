import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { createLineFramer } from '../../framing/line.ts';
import { createFaultyWire } from '../../simulation/faulty-wire.ts';
import { createSimulatedValve } from '../../simulation/valve.ts';
import type { SimulatedValve, ValveWorld } from '../../simulation/valve.ts';
import { createRelayBoardCodec } from './codec.ts';
import type { RelayBoardSettings } from './manifest.ts';

export interface RelayBoardSimulator extends Simulator, Pick<SimulatedValve, 'setBehaviour'> {
  /** Ports whose relays are on. More than one mixes the air of several places. */
  readonly switchedOn: readonly number[];
}

/** A board whose relays move a valve; the valve stands where the last relay was switched on. */
export function createRelayBoardSimulator(
  settings: RelayBoardSettings,
  context: SimulatorContext,
  world: ValveWorld,
): RelayBoardSimulator {
  const codec = createRelayBoardCodec(settings);
  const wire = createFaultyWire({ context, delimiter: settings.terminator });
  const valve = createSimulatedValve({ timers: context.timers, world, ports: settings.ports, lateSeconds: 0 });
  const relays = new Set<number>();
  let on = false;
  const commands = createLineFramer({
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line) {
      const command = codec.decode(line);
      if (command === undefined || command.port < 1 || command.port > settings.ports) return;
      if (valve.behaviour === 'never') return;
      if (!command.on) {
        relays.delete(command.port);
      } else {
        if (!relays.has(command.port)) valve.moveTo(command.port);
        relays.add(command.port);
      }
      const answer = codec.answer(command);
      if (answer !== undefined) wire.sendLine(answer);
    },
    onSetAside() {
      // A board says nothing to noise on its input.
    },
  });
  return {
    get switchedOn() {
      return [...relays];
    },
    start() {
      on = true;
    },
    stop() {
      on = false;
      relays.clear();
      valve.stop();
      commands.discardPending();
      wire.stop();
    },
    receive(bytes) {
      if (on) commands.push(bytes, 0);
    },
    inject(fault) {
      wire.inject(fault);
    },
    setBehaviour: valve.setBehaviour,
  };
}
