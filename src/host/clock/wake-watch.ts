import type { Cancel } from '../../device/timers.ts';
import { microsecondsPerSecond } from '../../model/time.ts';
import type { MachineTime } from './machine-time.ts';

/** Between two looks at the clocks when nothing else happens, µs. */
const lookMicroseconds = microsecondsPerSecond;
/** Without a sign of life for longer than this on the monotonic clock, the process stood still, µs. */
export const standstillMicroseconds = 3 * microsecondsPerSecond;
/** A lead of the boot clock greater than this is sleep, µs: its steps are at most 1 s. */
export const leastSleepMicroseconds = microsecondsPerSecond;
/** Without a boot clock a lead of the wall clock greater than this may be sleep, and is taken for it, µs. */
export const doubtfulStepMicroseconds = 2 * microsecondsPerSecond;
/** A step of the wall clock greater than this was set, by a person or by the time service, µs. */
export const leastWallStepMicroseconds = 100_000;
/** Clocks that were read further apart than this are read again, µs … */
const readApartMicroseconds = 20_000;
/** … so often at most. */
const mostReadings = 5;

/** Time in which the program did not run. */
export interface TimeLoss {
  readonly cause: 'sleep' | 'standstill';
  /** What gave it away; `wall-clock`: it may have been set instead. */
  readonly evidence: 'boot-clock' | 'wall-clock' | 'late-call';
  /** The last sign of life, monotonic clock, µs. */
  readonly lostAtMicroseconds: number;
  /** How long the monotonic clock stood still, µs; 0 when it went on. */
  readonly sleptMicroseconds: number;
  /** From the last sign of life to the first after it, sleep included, µs. */
  readonly lostMicroseconds: number;
}

export interface WakeWatchOptions {
  readonly machine: MachineTime;
  /** Called inside `check` and from a timer, before anything else that happens after the loss. */
  readonly onLoss: (loss: TimeLoss) => void;
  /** The wall clock was set while the program ran, by this much, µs; negative: back. */
  readonly onWallStep: (byMicroseconds: number) => void;
  /** What a listener threw; `check` itself never throws. */
  readonly onFailure: (error: unknown) => void;
}

export interface WakeWatch {
  /**
   * A sign of life, and a look whether time was lost since the last one. Cheap enough for every arrival of bytes: call
   * it before anything is stamped, recorded or decided by time.
   */
  check(): void;
  /** No timer is left behind. */
  end(): void;
}

/**
 * Notices that the machine slept or that the process stood still (stopped, starved, its virtual machine paused).
 * Looks once a second and at every `check`.
 *
 * Sleep is what the boot clock has more than the monotonic one; where there is no boot clock, a wall clock that leaps
 * ahead cannot be told from sleep and is taken for it. Only leaps count, from one look to the next: a clock that the
 * time service slews by 500 ppm never adds up to one.
 */
export function watchWake(options: WakeWatchOptions): WakeWatch {
  const { machine } = options;
  const { clock } = machine;
  let cancel: Cancel | undefined;
  let ended = false;
  let looking = false;

  /** The clocks of one moment, as far apart as `apart`. */
  const readClocks = () => {
    for (let reading = 1; ; reading += 1) {
      const from = clock.now();
      const wall = machine.wallNow();
      const boot = machine.bootNow();
      const now = clock.now();
      const apart = now - from;
      if (apart > readApartMicroseconds && reading < mostReadings) continue;
      return { now, apart, wallLead: wall - now, bootLead: boot === null ? null : boot - now };
    }
  };

  let { now: lastSign, wallLead, bootLead, apart } = readClocks();

  const look = (): void => {
    const seen = readClocks();
    const allowance = apart + seen.apart;
    const wallGain = seen.wallLead - wallLead;
    const bootGain = bootLead === null || seen.bootLead === null ? null : seen.bootLead - bootLead;
    const silent = seen.now - lastSign;
    const lostAtMicroseconds = lastSign;
    ({ now: lastSign, wallLead, bootLead, apart } = seen);

    let slept = 0;
    let evidence: TimeLoss['evidence'] = 'late-call';
    if (bootGain !== null) {
      if (bootGain > leastSleepMicroseconds + allowance) {
        slept = bootGain;
        evidence = 'boot-clock';
      }
    } else if (wallGain > doubtfulStepMicroseconds + allowance) {
      slept = wallGain;
      evidence = 'wall-clock';
    }
    if (slept > 0 || silent > standstillMicroseconds) {
      options.onLoss({
        cause: slept > 0 ? 'sleep' : 'standstill',
        evidence,
        lostAtMicroseconds,
        sleptMicroseconds: slept,
        lostMicroseconds: silent + slept,
      });
    }
    const step = wallGain - slept;
    // Steps of the boot clock may be as coarse as a second: what is left over of a sleep within that is no step.
    const leastStep = evidence === 'boot-clock' ? leastSleepMicroseconds : leastWallStepMicroseconds;
    if (Math.abs(step) > leastStep + allowance) options.onWallStep(step);
  };

  const guarded = (task: () => void): void => {
    if (looking || ended) return;
    looking = true;
    try {
      task();
    } catch (error) {
      options.onFailure(error);
    } finally {
      looking = false;
    }
  };

  const lookEachSecond = (): void => {
    cancel = clock.after(lookMicroseconds, () => {
      guarded(look);
      if (!ended) lookEachSecond();
    });
  };

  lookEachSecond();
  return {
    check() {
      guarded(() => {
        const now = clock.now();
        const leap = Math.abs(machine.wallNow() - now - wallLead);
        if (now - lastSign > standstillMicroseconds || leap > leastWallStepMicroseconds) look();
        else lastSign = now;
      });
    },
    end() {
      ended = true;
      cancel?.();
    },
  };
}
