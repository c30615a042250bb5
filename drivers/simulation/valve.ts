import type { Cancel, Timers } from '../../src/device/timers.ts';
import { toMicroseconds } from '../../src/model/time.ts';

/**
 * - `normal`: moves, and says where it stands.
 * - `late`: moves at once, and says for a good while longer that it is on its way.
 * - `wrong`: moves where it was told, and says that it stands at a neighbour port.
 * - `never`: neither moves nor answers.
 */
export type ValveBehaviour = 'normal' | 'late' | 'wrong' | 'never';

export interface ValveWorld {
  /** The physical move to a port begins. */
  moveTo(port: number): void;
  /** From the beginning of a move to standing on the new port, µs, ≥ 0. */
  readonly switchingMicroseconds: number;
  readonly startPort: number;
}

/** The mechanics of a simulated valve, one move at a time, in the order of the commands. */
export interface SimulatedValve {
  readonly behaviour: ValveBehaviour;
  /** The port at which it says that it stands; null while it moves. */
  readonly shownPort: number | null;
  moveTo(port: number): void;
  /** Behaves so for `seconds` from now, then normally again; Infinity: for good. */
  setBehaviour(behaviour: ValveBehaviour, seconds: number): void;
  /** No timer is left behind. */
  stop(): void;
}

/** @param options.lateSeconds how much longer a `late` valve says that it moves. */
export function createSimulatedValve(options: {
  readonly timers: Timers;
  readonly world: ValveWorld;
  readonly ports: number;
  readonly lateSeconds: number;
}): SimulatedValve {
  const { timers, world, ports } = options;
  let behaviour: ValveBehaviour = 'normal';
  let cancelBehaviour: Cancel | undefined;
  let cancelMove: Cancel | undefined;
  let port = world.startPort;
  let moving = false;
  let waiting: number[] = [];

  const next = (): void => {
    const target = moving ? undefined : waiting.shift();
    if (target === undefined) return;
    moving = true;
    world.moveTo(target);
    const late = behaviour === 'late' ? toMicroseconds(options.lateSeconds) : 0;
    cancelMove = timers.after(world.switchingMicroseconds + late, () => {
      moving = false;
      port = target;
      next();
    });
  };

  return {
    get behaviour() {
      return behaviour;
    },
    get shownPort() {
      if (moving) return null;
      if (behaviour !== 'wrong') return port;
      return port < ports ? port + 1 : port - 1;
    },
    moveTo(target) {
      if (behaviour === 'never') return;
      waiting.push(target);
      next();
    },
    setBehaviour(wanted, seconds) {
      cancelBehaviour?.();
      cancelBehaviour = undefined;
      behaviour = wanted;
      if (wanted === 'normal' || seconds === Infinity) return;
      cancelBehaviour = timers.after(toMicroseconds(seconds), () => {
        cancelBehaviour = undefined;
        behaviour = 'normal';
      });
    },
    stop() {
      cancelMove?.();
      cancelBehaviour?.();
      cancelMove = undefined;
      cancelBehaviour = undefined;
      moving = false;
      waiting = [];
      behaviour = 'normal';
    },
  };
}
