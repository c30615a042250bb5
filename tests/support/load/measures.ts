import { readFileSync } from 'node:fs';

/** The value below which this share of the values lies. @throws RangeError without values. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = Float64Array.from(values).sort();
  const found = sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
  if (found === undefined) throw new RangeError('no values');
  return found;
}

/** Ticks of the kernel's account of processor time, a second; fixed on Linux. */
const ticksPerSecond = 100;

/** Processor time that a process has used, all threads and both modes, s; Linux. */
export function processorSeconds(processId: number): number {
  const text = readFileSync(`/proc/${processId}/stat`, 'latin1');
  // The name of the program stands in brackets and may hold anything.
  const fields = text.slice(text.lastIndexOf(')') + 2).split(' ');
  return (Number(fields[11]) + Number(fields[12])) / ticksPerSecond;
}
