import type { Rig } from './rig.ts';
import type { Series } from './series.ts';
import type { StreamDescriptor } from './stream.ts';
import type { TimeSegment } from './time.ts';
import type { TrialEvent, TrialHeader } from './trial-event.ts';

/** All readings of one stream. Both arrays have one element per reading, in order of arrival. */
export interface StreamRecord {
  readonly descriptor: StreamDescriptor;
  /** Trial time of arrival, µs. */
  readonly atMicroseconds: Float64Array;
  /** In the descriptor's unit. */
  readonly values: Float64Array;
}

/** A recorded trial as the assessment, the report and replay see it: complete, immutable, free of storage. */
export interface TrialRecord {
  readonly header: TrialHeader;
  readonly rig: Rig;
  readonly series: Series;
  readonly segments: readonly TimeSegment[];
  readonly events: readonly TrialEvent[];
  readonly streams: readonly StreamRecord[];
}

/** The stream of an instrument, or undefined where the record holds none. */
export function streamOf(record: TrialRecord, instrument: string, stream: string): StreamRecord | undefined {
  return record.streams.find(
    (candidate) => candidate.descriptor.instrument === instrument && candidate.descriptor.stream === stream,
  );
}
