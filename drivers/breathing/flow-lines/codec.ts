import type { Quantity } from '../../framing/quantity.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings } from '../../framing/value-line.ts';

/** Flow at the mouth; into the subject is positive. */
export const flowQuantities: readonly Quantity[] = [
  { stream: 'flow', unit: 'L/min', resolution: 0.1, plausibleLow: -600, plausibleHigh: 600 },
];

/** The line of our virtual instrument, a hundred times a second. */
export const flowLineDefaults: ValueLineDefaults = {
  quantities: flowQuantities,
  line: 'q {flow} *{checksum}',
  checksum: 'xor-hex',
  expectedIntervalSeconds: 0.01,
  silenceLimitSeconds: 1,
};

/** Whatever the sign on the wire, a value is positive into the subject. */
export function createFlowCodec(
  settings: ValueLineSettings & { readonly inward: 'positive' | 'negative' },
): ValueLineCodec {
  const codec = createValueLineCodec(settings, flowQuantities);
  if (settings.inward === 'positive') return codec;
  const turned = (values: ReadonlyMap<string, number>): ReadonlyMap<string, number> =>
    new Map([...values].map(([stream, value]) => [stream, -value]));
  return {
    ...codec,
    decode(line) {
      const read = codec.decode(line);
      return read.decoded === 'values' ? { ...read, values: turned(read.values) } : read;
    },
    encode: (values) => codec.encode(turned(values)),
  };
}
