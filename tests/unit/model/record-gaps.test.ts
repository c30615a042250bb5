import { describe, expect, it } from 'vitest';
import type { Problem } from '../../../src/model/reading.ts';
import { gapsOfRecord } from '../../../src/model/record-gaps.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import { streamOf, type TrialRecord } from '../../../src/model/trial-record.ts';
import { reportSource } from '../../support/report/report-source.ts';

const second = 1_000_000;
const base = reportSource().record;
const { photometer, photometerStream } = base.rig;

/** A trial of 100 s whose photometer reads ten times a second but in these stretches, s. */
function recordWithout(...stretches: readonly (readonly [from: number, to: number])[]): TrialRecord {
  const stream = streamOf(base, photometer, photometerStream);
  if (stream === undefined) throw new Error('no photometer');
  const times = Array.from({ length: 1_000 }, (_, index) => index * 100_000).filter(
    (at) => !stretches.some(([from, to]) => at > from * second && at < to * second),
  );
  const descriptor = { ...stream.descriptor, expectedIntervalSeconds: 0.1 };
  const streams = [{ descriptor, atMicroseconds: new Float64Array(times), values: new Float64Array(times.length) }];
  return { ...base, events: [], segments: base.segments.slice(0, 1), streams };
}

function connection(instrument: string, code: Problem['code'], seconds: number): TrialEvent {
  const atMicroseconds = seconds * second;
  const problem = { instrument, code, atMicroseconds, detail: '', byteCount: 0 };
  return { kind: 'problem', atMicroseconds, problem };
}

describe('the gaps of a record', () => {
  it('are none where every reading came', () => {
    expect(gapsOfRecord(recordWithout(), 100 * second)).toEqual([]);
  });

  it('are told by the readings themselves, whatever was reported', () => {
    const gaps = gapsOfRecord(recordWithout([20, 21], [40, 65], [90, 101]), 100 * second);
    expect(gaps).toMatchObject([
      { fromMicroseconds: 40 * second, toMicroseconds: 65 * second, ofPhotometer: true },
      { fromMicroseconds: 90 * second, toMicroseconds: 100 * second, ofPhotometer: true },
    ]);
    for (const { cause } of gaps) expect(cause).toEqual({ kind: 'silent', instrument: photometer });
  });

  it('are told once where a lost connection explains them', () => {
    const record = recordWithout([40, 65]);
    const events = [connection(photometer, 'connection-lost', 40.2), connection(photometer, 'connection-restored', 64)];
    expect(gapsOfRecord({ ...record, events }, 100 * second)).toEqual([
      {
        fromMicroseconds: 40.2 * second,
        toMicroseconds: 64 * second,
        cause: { kind: 'lost', instrument: photometer },
        ofPhotometer: true,
      },
    ]);
  });

  it('of another instrument are not of the photometer, and explain no silence of it', () => {
    const record = recordWithout([40, 65]);
    const events = [connection('belt', 'connection-lost', 30)];
    expect(gapsOfRecord({ ...record, events }, 100 * second)).toMatchObject([
      { cause: { kind: 'lost', instrument: 'belt' }, toMicroseconds: 100 * second, ofPhotometer: false },
      { cause: { kind: 'silent', instrument: photometer }, ofPhotometer: true },
    ]);
  });

  it('are those of the recording, from the last thing that was recorded', () => {
    const record = recordWithout([40, 65]);
    const [first] = record.segments;
    if (first === undefined) throw new Error('no segment');
    const segments = [first, { ...first, segment: 1, reason: 'restart' as const, beginsAtMicroseconds: 65 * second }];
    expect(gapsOfRecord({ ...record, segments }, 100 * second)).toEqual([
      {
        fromMicroseconds: 40 * second,
        toMicroseconds: 65 * second,
        cause: { kind: 'restart' },
        ofPhotometer: true,
      },
    ]);
  });
});
