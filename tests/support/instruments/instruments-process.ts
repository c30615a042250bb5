/**
 * Simulated instruments on pseudo-terminals, in a process of its own: a master written by the process that reads the
 * other side can lock it up. Prints one line `{"lines": {"flow": path, …}}` and ends with its standard input.
 */
import { breathSettingsSchema } from '../../../drivers/breathing/breath-lines/manifest.ts';
import { createBreathSimulator } from '../../../drivers/breathing/breath-lines/simulator.ts';
import { breathingFlowSettingsSchema } from '../../../drivers/breathing/flow-lines/manifest.ts';
import { createBreathingFlowSimulator } from '../../../drivers/breathing/flow-lines/simulator.ts';
import { climateRegisterSettingsSchema } from '../../../drivers/climate/modbus-registers/manifest.ts';
import { createClimateRegisterSimulator } from '../../../drivers/climate/modbus-registers/simulator.ts';
import { modbusValveSettingsSchema } from '../../../drivers/selector-valve/modbus/manifest.ts';
import { createModbusValveSimulator } from '../../../drivers/selector-valve/modbus/simulator.ts';
import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { createMonotonicClock } from '../../../src/host/clock/monotonic-clock.ts';
import { openPseudoTerminal } from '../../../src/host/rig/pseudo-terminal.ts';

const clock = createMonotonicClock();
const ends: (() => void)[] = [];

/** One line with everything on it that hears what is written there. */
function line(make: (context: SimulatorContext) => readonly Simulator[]): string {
  let simulators: readonly Simulator[] = [];
  const terminal = openPseudoTerminal({
    onBytes: (bytes) => {
      for (const simulator of simulators) simulator.receive(bytes);
    },
  });
  simulators = make({ timers: clock, random: () => 0.5, send: (bytes) => terminal.write(bytes) });
  for (const simulator of simulators) simulator.start();
  ends.push(() => {
    for (const simulator of simulators) simulator.stop();
    terminal.close();
  });
  return terminal.path;
}

const seconds = (): number => clock.now() / 1e6;
const climateOf = (context: SimulatorContext, address: number, temperature: number): Simulator =>
  createClimateRegisterSimulator(climateRegisterSettingsSchema.parse({ address }), context, {
    readClimate: () => new Map(Object.entries({ temperature, humidity: 40 + address, pressure: 1008.4 })),
  });

const lines = {
  bus: line((context) => [climateOf(context, 1, 21.5), climateOf(context, 2, 4.5)]),
  flow: line((context) => [
    createBreathingFlowSimulator(breathingFlowSettingsSchema.parse({}), context, {
      readFlow: () => 60 * Math.sin((2 * Math.PI * seconds()) / 4),
      intervalMicroseconds: 10_000,
    }),
  ]),
  valve: line((context) => [
    createModbusValveSimulator(modbusValveSettingsSchema.parse({}), context, {
      moveTo: () => undefined,
      switchingMicroseconds: 200_000,
      startPort: 1,
    }),
  ]),
  breaths: line((context) => [
    createBreathSimulator(breathSettingsSchema.parse({}), context, {
      readBreath: () => new Map(Object.entries({ 'tidal-volume': 1.25, 'breathing-frequency': 30, ventilation: 37.5 })),
      intervalMicroseconds: 2_000_000,
    }),
  ]),
};
process.stdout.write(`${JSON.stringify({ lines })}\n`);
process.stdin.resume().on('end', () => {
  for (const end of ends) end();
});
