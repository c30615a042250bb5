import type { OutputDescriptor } from '../../src/device/driver.ts';
import { ChambersideError } from '../../src/model/error-code.ts';
import { units } from '../../src/model/unit.ts';

/**
 * The output of this name, when the value is one that it can have.
 * @throws ChambersideError `request-refused`.
 */
export function requireOutput<Output extends OutputDescriptor>(
  outputs: readonly Output[],
  output: string,
  value: number,
  where: { readonly instrument: string; readonly label: string },
): Output {
  const found = outputs.find((candidate) => candidate.output === output);
  const place = `${where.instrument}, ${where.label}`;
  if (found === undefined) {
    const known = outputs.map((candidate) => candidate.output).join(', ');
    throw new ChambersideError('request-refused', `it has no output ${output}`, place, `Set one of: ${known}.`);
  }
  if (!Number.isFinite(value) || value < found.low || value > found.high) {
    const { symbol } = units[found.unit];
    throw new ChambersideError(
      'request-refused',
      `${output} cannot be ${value} ${symbol}`,
      place,
      `Ask for ${found.low} to ${found.high} ${symbol}, or correct the limits in the rig.`,
    );
  }
  return found;
}
