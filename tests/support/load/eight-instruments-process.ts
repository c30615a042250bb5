/**
 * Eight instruments on pseudo-terminals, in a process of its own: a valve that answers, and seven that speak 2 000
 * lines a second in total, each line with the count of its lines as its value. Prints `{"lines": {"valve": path, …}}`,
 * and on a line `stop` on standard input what each of the seven has sent, `{"sent": {"first": 4711, …}}`; ends with
 * its input.
 */
import { createInterface } from 'node:readline';
import { breathingFlowSettingsSchema } from '../../../drivers/breathing/flow-lines/manifest.ts';
import { createBreathingFlowSimulator } from '../../../drivers/breathing/flow-lines/simulator.ts';
import { photometerSettingsSchema } from '../../../drivers/photometer/text-lines/manifest.ts';
import { createPhotometerSimulator } from '../../../drivers/photometer/text-lines/simulator.ts';
import { selectorValveSettingsSchema } from '../../../drivers/selector-valve/command-lines/manifest.ts';
import { createSelectorValveSimulator } from '../../../drivers/selector-valve/command-lines/simulator.ts';
import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { createMonotonicClock } from '../../../src/host/clock/monotonic-clock.ts';
import { openPseudoTerminal } from '../../../src/host/rig/pseudo-terminal.ts';
import { countModulus, flowNames, photometerNames } from './eight-instruments.ts';

const clock = createMonotonicClock();
const speaking = photometerNames.length + flowNames.length;
const intervalMicroseconds = (1_000_000 * speaking) / 2_000;
const lines: Record<string, string> = {};
const sent: Record<string, number> = {};
const ends: (() => void)[] = [];
const stops: (() => void)[] = [];

function open(name: string, make: (context: SimulatorContext) => Simulator): void {
  let simulator: Simulator | null = null;
  const terminal = openPseudoTerminal({ onBytes: (bytes) => simulator?.receive(bytes) });
  simulator = make({ timers: clock, random: () => 0.5, send: (bytes) => terminal.write(bytes) });
  simulator.start();
  lines[name] = terminal.path;
  stops.push(() => simulator.stop());
  ends.push(() => terminal.close());
}
/** Counts its own calls: one for each line. */
function counting(name: string): () => number {
  sent[name] = 0;
  return () => (sent[name] = (sent[name] ?? 0) + 1);
}

open('valve', (context) =>
  createSelectorValveSimulator(selectorValveSettingsSchema.parse({}), context, {
    moveTo: () => undefined,
    switchingMicroseconds: 100_000,
    acknowledgeDelayMicroseconds: 20_000,
    startPort: 1,
  }),
);
for (const name of photometerNames) {
  const count = counting(name);
  const readConcentration = (): number => (count() % countModulus) / 100_000;
  open(name, (context) =>
    createPhotometerSimulator(photometerSettingsSchema.parse({}), context, { readConcentration, intervalMicroseconds }),
  );
}
for (const name of flowNames) {
  const count = counting(name);
  const readFlow = (): number => (count() % countModulus) / 10;
  open(name, (context) =>
    createBreathingFlowSimulator(breathingFlowSettingsSchema.parse({}), context, { readFlow, intervalMicroseconds }),
  );
}

process.stdout.write(`${JSON.stringify({ lines })}\n`);
createInterface({ input: process.stdin })
  .on('line', () => {
    for (const stop of stops) stop();
    process.stdout.write(`${JSON.stringify({ sent })}\n`);
  })
  .on('close', () => {
    for (const end of [...stops, ...ends]) end();
  });
