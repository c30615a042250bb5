import type { TrialRecord } from '../../src/model/trial-record.ts';

/** A trial with another flow of breath. @param change the flow instead, at these seconds; null: no reading there. */
export function withFlow(
  record: TrialRecord,
  change: (atSeconds: number, flow: number) => number | null,
): TrialRecord {
  const streams = record.streams.map((stream) => {
    if (stream.descriptor.stream !== 'flow') return stream;
    const kept = [...stream.values].flatMap((flow, index) => {
      const at = stream.atMicroseconds[index] as number;
      const value = change(at / 1e6, flow);
      return value === null ? [] : [[at, value] as const];
    });
    const column = (which: 0 | 1): Float64Array => Float64Array.from(kept, (pair) => pair[which]);
    return { ...stream, atMicroseconds: column(0), values: column(1) };
  });
  return { ...record, streams };
}
