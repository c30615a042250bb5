import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { parseDecimal } from '../../framing/decimal.ts';
import { compileTemplate } from '../../framing/template.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { createErgometerCodec } from './codec.ts';
import type { ErgometerSettings } from './manifest.ts';

export interface ErgometerWorld {
  /** `power` W, `cadence` per minute, at this moment. */
  readErgometer(): ReadonlyMap<string, number>;
  /** The brake is set, W. */
  setPower(watts: number): void;
  readonly intervalMicroseconds: number;
}

/** An ergometer that refuses more than `settings.highestPower`. */
export function createErgometerSimulator(
  settings: ErgometerSettings,
  context: SimulatorContext,
  world: ErgometerWorld,
): Simulator {
  const command = compileTemplate(settings.command, ['value']);
  const acknowledge = compileTemplate(settings.acknowledge, ['value', 'any']);
  const refusal = compileTemplate(settings.refusal, ['any']);
  return createValueLineInstrument({
    settings,
    context,
    codec: createErgometerCodec(settings),
    read: () => world.readErgometer(),
    intervalMicroseconds: world.intervalMicroseconds,
    command(line) {
      const text = command.match(line)?.['value']?.text;
      const watts = text === undefined ? undefined : parseDecimal(text, settings.decimalMark);
      if (text === undefined || watts === undefined) return undefined;
      if (watts < 0 || watts > settings.highestPower) return refusal.format({ any: `${text} W` });
      world.setPower(watts);
      return acknowledge.format({ value: text });
    },
  });
}
