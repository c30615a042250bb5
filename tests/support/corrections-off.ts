import { fullDelayMicroseconds, commonDelayMicroseconds } from '../../src/leakage/alignment.ts';
import { firstMethod } from '../../src/leakage/default-method.ts';
import type { Method } from '../../src/model/method.ts';
import type { DwellPurpose, TrialEvent } from '../../src/model/trial-event.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';

/** One correction switched off: by the method where it can, else by a record on which the correction does nothing. */
export interface CorrectionOff {
  readonly correction: string;
  readonly method: Method;
  readonly altered: (record: TrialRecord) => TrialRecord;
}

const same = (record: TrialRecord): TrialRecord => record;
const withMethod = (correction: string, changes: Partial<Method>, altered = same): CorrectionOff => ({
  correction,
  method: { ...firstMethod, ...changes },
  altered,
});
const withRecord = (correction: string, altered: (record: TrialRecord) => TrialRecord): CorrectionOff => ({
  correction,
  method: firstMethod,
  altered,
});

/** The twelve corrections of an assessment, each off in turn. */
export const correctionsOff: readonly CorrectionOff[] = [
  withRecord('zero', (record) => changeDwells(record, 'zero', (values, mean) => values.map((value) => value - mean))),
  withRecord('zero interpolation', (record) =>
    changeDwells(record, 'zero', (values, mean, first) => values.map((value) => value - mean + first)),
  ),
  withRecord('span and challenge interpolation', (record) =>
    changeDwells(record, 'reference', (values, mean, first) => values.map((value) => (value * first) / mean)),
  ),
  withMethod('dilution', { applyDilution: false }),
  withRecord('probe time', (record) => ({
    ...record,
    rig: {
      ...record.rig,
      ports: record.rig.ports.map((port) => ({
        ...port,
        transitSeconds: { value: 0, standardUncertainty: port.transitSeconds.standardUncertainty },
      })),
    },
  })),
  withRecord('valve-side window', withFullTransit),
  // Without that of the zeros the program refuses every number; without that of the windows alone the correction of
  // the lag takes out what is carried over, and no demand is missed.
  withMethod('settling', { settling: { rule: 'fixed', seconds: 0.001 }, zeroSettlingSeconds: 0.001 }),
  withMethod('lag', { lagCorrection: false }),
  withMethod('end guard', { guardDispersions: 0 }, (record) => ({
    ...record,
    rig: { ...record.rig, valveSwitchingSeconds: 0 },
  })),
  withMethod('background', { subtractBackground: false }),
  withMethod('spatial factor', { applySpatialFactor: false }),
  withMethod('line loss', { applyPenetration: false }),
];

/** Readings of the dwells of a purpose, from settled to the end, changed; `first` is the mean of the first dwell. */
function changeDwells(
  record: TrialRecord,
  purpose: DwellPurpose,
  change: (values: Float64Array, mean: number, first: number) => Float64Array,
): TrialRecord {
  const { events, rig, streams } = record;
  const delay = commonDelayMicroseconds(rig);
  const [photometer, ...others] = streams;
  if (photometer === undefined) throw new Error('the record has no readings');
  const values = photometer.values.slice();
  const spans: [number, number][] = [];
  for (const event of events) {
    if (event.kind !== 'port-acknowledged') continue;
    const began = events.find((other) => other.kind === 'dwell-began' && other.dwell.dwell === event.dwell);
    const ended = events.find((other) => other.kind === 'dwell-ended' && other.dwell === event.dwell);
    if (began?.kind !== 'dwell-began' || ended === undefined || began.dwell.purpose !== purpose) continue;
    if (purpose === 'reference' && began.dwell.stage === 'entry') continue;
    const index = (at: number): number => photometer.atMicroseconds.findIndex((one) => one >= at);
    spans.push([index(event.atMicroseconds + delay + 5e6), index(ended.atMicroseconds + delay - 4e5)]);
  }
  const meanOf = ([from, to]: [number, number]): number => {
    let sum = 0;
    for (let at = from; at < to; at += 1) sum += photometer.values[at] as number;
    return sum / (to - from);
  };
  const [firstSpan] = spans;
  if (firstSpan === undefined) throw new Error(`the record has no ${purpose}`);
  const first = meanOf(firstSpan);
  for (const span of spans) values.set(change(photometer.values.subarray(...span), meanOf(span), first), span[0]);
  return { ...record, streams: [{ ...photometer, values }, ...others] };
}

/** Both ends of every window moved by the port's own line as well, as if the valve sat at the probe. */
function withFullTransit(record: TrialRecord): TrialRecord {
  const { rig } = record;
  const portOf = new Map<number, number>();
  for (const event of record.events) if (event.kind === 'dwell-began') portOf.set(event.dwell.dwell, event.dwell.port);
  const later = (dwell: number): number => {
    const port = rig.ports.find((one) => one.port === portOf.get(dwell));
    return port === undefined ? 0 : fullDelayMicroseconds(rig, port) - commonDelayMicroseconds(rig);
  };
  return {
    ...record,
    events: record.events.map((event): TrialEvent =>
      event.kind === 'port-acknowledged' || event.kind === 'dwell-ended'
        ? { ...event, atMicroseconds: event.atMicroseconds + later(event.dwell) }
        : event,
    ),
  };
}
