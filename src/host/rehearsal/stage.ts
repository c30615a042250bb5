import { createLineFramer } from '../../../drivers/registry.ts';
import type { LineFramerFactory } from '../../device/framing.ts';
import type { Clock } from '../../device/timers.ts';
import { createMachineTime, type MachineTime } from '../clock/machine-time.ts';
import { createMonotonicClock } from '../clock/monotonic-clock.ts';
import { createVirtualClock } from '../clock/virtual-clock.ts';
import { createInProcessRig } from '../rig/in-process-rig.ts';
import { findScenario } from '../rig/rig-process-options.ts';
import type { RunningRig } from '../rig/running-rig.ts';
import { startRigProcess } from '../rig/start-rig-process.ts';
import { createTruthFile } from '../rig/truth-file.ts';
import { createReadlineFramer } from '../transport/readline-framer.ts';

/** How the program and the virtual rig are joined. */
export type RehearsalWire = 'none' | 'pty' | 'tcp';

/** A virtual rig, the clock it lives on, and how time passes there. */
export interface Stage {
  readonly rig: RunningRig;
  /** Monotonic: virtual, or the machine's. */
  readonly clock: Clock;
  /** The machine's clocks where time is real; null where it is virtual and stands still with the machine. */
  readonly machine: MachineTime | null;
  /** How lines are cut: purely under virtual time, by the library at the host's edge on real wires. */
  readonly lines: LineFramerFactory;
  /** Lets time pass until the work is done; rejects as the work does, or when the rig is lost. */
  play(work: () => Promise<void>, gate: (nextMicroseconds: number) => Promise<void> | undefined): Promise<void>;
  /** Ends the rig and closes the truth. */
  strike(): Promise<void>;
}

export interface StageOptions {
  readonly wire: RehearsalWire;
  /** Name of a scenario that comes with the program, or path of a file. */
  readonly scenario: string;
  readonly seed: number;
  /** Multiple of real time; Infinity does not wait. Real wires run at 1. */
  readonly speed: number;
  readonly truthPath: string;
  /** Where the virtual clock begins, µs; behind what the truth file holds already. */
  readonly virtualStartMicroseconds: number;
  /** The subject is inside already; null for a trial that begins. */
  readonly startedInside: { readonly exercise: string | null } | null;
  readonly continued: boolean;
}

/**
 * Sets the stage for a rehearsal.
 * @throws ChambersideError `usage-bad-value`, `file-not-found`, `file-exists`, `configuration-invalid`,
 *   `rig-process-failed`.
 */
export function setStage(options: StageOptions): Promise<Stage> {
  return options.wire === 'none' ? Promise.resolve(setInProcess(options)) : setOnWires(options, options.wire);
}

function setInProcess(options: StageOptions): Stage {
  const scenario = findScenario(options.scenario);
  const clock = createVirtualClock(options.virtualStartMicroseconds);
  const truth = createTruthFile(options.truthPath, clock.now, options.continued ? 'append' : 'new');
  const rig = createInProcessRig({
    scenario,
    seed: options.seed,
    clock,
    truth,
    ...(options.startedInside === null ? {} : { startedInside: options.startedInside }),
  });
  return {
    rig,
    clock,
    machine: null,
    lines: createLineFramer,
    async play(work, gate) {
      let done = false;
      const working = work().finally(() => {
        done = true;
      });
      // Both are awaited together, so that a failure of either ends the other's wait.
      await Promise.all([working, clock.run({ until: () => done, speed: options.speed, gate })]);
    },
    async strike() {
      await rig.stop();
      truth.close();
    },
  };
}

async function setOnWires(options: StageOptions, wire: 'pty' | 'tcp'): Promise<Stage> {
  const rig = await startRigProcess({
    wire,
    scenario: options.scenario,
    seed: options.seed,
    truthFile: options.truthPath,
    continueTruth: options.continued,
    ...(options.startedInside === null ? {} : { startedInside: options.startedInside }),
  });
  const clock = createMonotonicClock();
  return {
    rig,
    clock,
    machine: createMachineTime(clock),
    lines: createReadlineFramer,
    async play(work) {
      const lost = new Promise<never>((_resolve, reject) => {
        rig.onLost(reject);
      });
      await Promise.race([work(), lost]);
    },
    strike: () => rig.stop(),
  };
}
