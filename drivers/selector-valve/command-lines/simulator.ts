import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import { createLineFramer } from '../../framing/line.ts';
import { createFaultyWire } from '../../simulation/faulty-wire.ts';
import { createSelectorValveCodec } from './codec.ts';
import type { ValveBehaviour } from '../../simulation/valve.ts';
import type { SelectorValveSettings } from './manifest.ts';

export interface SelectorValveWorld {
  /** The physical move to a port begins. */
  moveTo(port: number): void;
  /** From the beginning of a move to standing on the new port, µs, ≥ 0. */
  readonly switchingMicroseconds: number;
  /** From standing there to the acknowledgement, µs, ≥ 0. */
  readonly acknowledgeDelayMicroseconds: number;
  readonly startPort: number;
}

export interface SelectorValveSimulator extends Simulator {
  /** Behaves so for commands that come within `seconds` from now, then normally again; Infinity: for good. */
  setBehaviour(behaviour: ValveBehaviour, seconds: number): void;
}

/** Share of the driver's time-out by which a late acknowledgement comes after the normal one. */
const lateFactor = 1.5;

/** A valve that does one move at a time, in the order of the commands. */
export function createSelectorValveSimulator(
  settings: SelectorValveSettings,
  context: SimulatorContext,
  world: SelectorValveWorld,
): SelectorValveSimulator {
  const codec = createSelectorValveCodec(settings);
  const wire = createFaultyWire({ context, delimiter: settings.terminator });
  const timers = new Set<Cancel>();
  let on = false;
  let port = world.startPort;
  let moving = false;
  let waiting: number[] = [];
  let behaviour: ValveBehaviour = 'normal';
  let cancelBehaviour: Cancel | undefined;

  const after = (delayMicroseconds: number, callback: () => void): void => {
    const cancel = context.timers.after(delayMicroseconds, () => {
      timers.delete(cancel);
      callback();
    });
    timers.add(cancel);
  };
  const neighbourOf = (truly: number): number => (truly < settings.ports ? truly + 1 : truly - 1);
  const say = (message: 'acknowledged' | 'position', truly: number, how: ValveBehaviour): void => {
    wire.sendLine(codec.encode({ message, port: how === 'wrong' ? neighbourOf(truly) : truly }));
  };

  const moveNext = (): void => {
    const target = moving ? undefined : waiting.shift();
    if (target === undefined) return;
    moving = true;
    const how = behaviour;
    world.moveTo(target);
    after(world.switchingMicroseconds, () => {
      moving = false;
      port = target;
      const late = how === 'late' ? toMicroseconds(settings.acknowledgeTimeoutSeconds * lateFactor) : 0;
      after(world.acknowledgeDelayMicroseconds + late, () => {
        say('acknowledged', target, how);
      });
      moveNext();
    });
  };

  const commands = createLineFramer({
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line) {
      const command = codec.decodeCommand(line);
      if (command === undefined || behaviour === 'never') return;
      if (command.command === 'query') {
        say('position', port, behaviour);
      } else if (command.port < 1 || command.port > settings.ports) {
        wire.sendLine(codec.encode({ message: 'refused', text: `port ${command.port}` }));
      } else {
        waiting.push(command.port);
        moveNext();
      }
    },
    onSetAside() {
      // A valve says nothing to noise on its input.
    },
  });

  return {
    start() {
      on = true;
    },
    stop() {
      on = false;
      for (const cancel of timers) cancel();
      timers.clear();
      moving = false;
      waiting = [];
      commands.discardPending();
      cancelBehaviour?.();
      cancelBehaviour = undefined;
      behaviour = 'normal';
      wire.stop();
    },
    receive(bytes) {
      if (on) commands.push(bytes, 0);
    },
    inject(fault) {
      wire.inject(fault);
    },
    setBehaviour(wanted, seconds) {
      cancelBehaviour?.();
      cancelBehaviour = undefined;
      behaviour = wanted;
      if (wanted === 'normal' || seconds === Infinity) return;
      cancelBehaviour = context.timers.after(toMicroseconds(seconds), () => {
        cancelBehaviour = undefined;
        behaviour = 'normal';
      });
    },
  };
}
