import { createInterface } from 'node:readline';
import { createMachineTime } from '../../../src/host/clock/machine-time.ts';
import { createMonotonicClock } from '../../../src/host/clock/monotonic-clock.ts';
import { createTrialClock } from '../../../src/host/clock/trial-clock.ts';
import { parseOptions } from '../../../src/host/cli/command.ts';
import { startCommand } from '../../../src/host/cli/start.ts';
import { createHostRuntime } from '../../../src/host/runtime/create-host-runtime.ts';

/**
 * `chamberside start`, with the clock of its host in the hand of a test: a line
 * `{"count", "spacingMicroseconds", "prompt"}` on standard input sets as many deadlines, one after the other as a
 * conductor sets its own, on a trial clock over the very clock that carries everything else in the host. The answer
 * is one line `{"lateMicroseconds": [...]}`.
 */
const clock = createMonotonicClock();
const command = startCommand(({ folder, program }) =>
  createHostRuntime({ folder, program, machine: createMachineTime(clock) }),
);

interface Wanted {
  readonly count: number;
  readonly spacingMicroseconds: number;
  /** As the conductor waits; else by a timer as the machine has it. */
  readonly prompt: boolean;
}

function measure({ count, spacingMicroseconds, prompt }: Wanted): Promise<readonly number[]> {
  const trialClock = createTrialClock({
    source: clock,
    bootId: 'b-000000000000',
    wallNow: () => new Date(),
    segment: 0,
    reason: 'start',
    beginsAtMicroseconds: 0,
  });
  const late: number[] = [];
  return new Promise((resolve) => {
    const set = (plannedMicroseconds: number): void => {
      const fire = (): void => {
        late.push(trialClock.now() - plannedMicroseconds);
        // On the plan, however late this one came.
        if (late.length < count) set(plannedMicroseconds + spacingMicroseconds);
        else resolve(late);
      };
      trialClock.at(plannedMicroseconds, fire, prompt);
    };
    set(spacingMicroseconds);
  });
}

createInterface({ input: process.stdin }).on('line', (line) => {
  void measure(JSON.parse(line) as Wanted).then((lateMicroseconds) => {
    process.stdout.write(`${JSON.stringify({ lateMicroseconds })}\n`);
  });
});
const output = {
  line: (text: string) => process.stdout.write(`${text}\n`),
  note: (text: string) => process.stderr.write(`${text}\n`),
  interactive: false,
};
process.exitCode = await command.run(parseOptions(command, process.argv.slice(2)), output);
process.stdin.destroy();
