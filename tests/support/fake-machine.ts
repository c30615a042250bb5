import type { Clock } from '../../src/device/timers.ts';
import type { MachineTime } from '../../src/host/clock/machine-time.ts';

/** A machine whose sleep and wall clock are in the hand of a test, on a clock that stands still while it sleeps. */
export interface FakeMachine extends MachineTime {
  /** The machine sleeps now, for so long; nothing runs meanwhile. */
  sleep(microseconds: number): void;
  /** Somebody sets the wall clock, ahead or (negative) back. */
  setWall(byMicroseconds: number): void;
}

/** @param bootStepMicroseconds how coarse the boot clock is; null: there is none. */
export function createFakeMachine(clock: Clock, bootStepMicroseconds: number | null = 10_000): FakeMachine {
  let slept = 0;
  let set = Date.UTC(2030, 0, 2) * 1000;
  return {
    clock,
    wallNow: () => clock.now() + slept + set,
    bootNow: () =>
      bootStepMicroseconds === null
        ? null
        : Math.floor((clock.now() + slept + 77_123_456) / bootStepMicroseconds) * bootStepMicroseconds,
    sleep(microseconds) {
      slept += microseconds;
    },
    setWall(byMicroseconds) {
      set += byMicroseconds;
    },
  };
}
