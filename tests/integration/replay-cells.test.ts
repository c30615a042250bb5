import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { decodeAgain } from '../../src/host/replay/decode-again.ts';
import { createTrialReplay } from '../../src/host/replay/trial-replay.ts';
import { countingAssessment } from '../../src/host/store/assessments.ts';
import { readTrial, readWire } from '../../src/host/store/read.ts';
import { assess } from '../../src/leakage/assess.ts';
import type { Assessment } from '../../src/leakage/assessment.ts';
import type { StreamRecord, TrialRecord } from '../../src/model/trial-record.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { rehearse } from '../support/rehearsal.ts';

/** What a replay gives is what was stored: then the result is the stored one, to the last bit. */
const folder = temporaryFolder();
afterAll(folder.clear);
const study = folder.file('replayed.chamberside');
let record: TrialRecord;
let stored: NonNullable<ReturnType<typeof countingAssessment>>;

beforeAll(async () => {
  const { trialId } = await rehearse(study, '--seed', '11', '--scenario', 'short');
  record = readTrial(study, trialId);
  const newest = countingAssessment(study, trialId);
  if (newest === null) throw new Error('the rehearsal was not assessed');
  stored = newest;
}, 60_000);

/** The same trial with other arrays of readings. */
function withReadings(of: (stream: StreamRecord, index: number) => { times: number[]; values: number[] }): TrialRecord {
  const streams = record.streams.map((stream, index) => {
    const { times, values } = of(stream, index);
    return { ...stream, atMicroseconds: Float64Array.from(times), values: Float64Array.from(values) };
  });
  return { ...record, streams };
}

describe('the cells of a replayed trial', () => {
  it('are the stored ones, bit for bit, from the readings that a replay shows', () => {
    const replay = createTrialReplay('replayed.chamberside', record, stored.method);
    const played = withReadings((_stream, index) => {
      const times: number[] = [];
      const values: number[] = [];
      // As it is played: piece by piece, each from where the last one ended.
      for (let from = 0; from <= replay.endsAtMicroseconds; from += 40_000) {
        const piece = replay.readings(index, from, from + 40_000);
        times.push(...piece.times);
        values.push(...piece.values);
      }
      return { times, values };
    });
    const cells = assess(played, stored.method);
    expect(cells.cells.length).toBeGreaterThan(9);
    expect(cells).toStrictEqual(stored.details);
  });

  it('are the stored ones, bit for bit, from the bytes that the drivers decode again', async () => {
    const { events, segments } = record;
    const decoded = await Promise.all(
      record.rig.instruments.map((configuration) => {
        const wire = readWire(study, record.header.trial, configuration.instrument);
        return decodeAgain({ configuration, wire, events, segments });
      }),
    );
    const again = withReadings(({ descriptor }) => {
      const own = decoded.find(({ instrument }) => instrument === descriptor.instrument)?.readings ?? [];
      const readings = own.filter(({ stream }) => stream === descriptor.stream);
      return { times: readings.map((one) => one.atMicroseconds), values: readings.map(({ value }) => value) };
    });
    expect(assess(again, stored.method)).toStrictEqual(stored.details);
  });

  it('are others when one reading is', () => {
    const first = (stored.details as Assessment).cells[0];
    const other = withReadings(({ atMicroseconds, values }) => ({
      times: [...atMicroseconds],
      values: [...values].map((value) => value * (1 + 1e-9)),
    }));
    expect(assess(other, stored.method).cells[0]?.windowPercent).not.toBe(first?.windowPercent);
  });
});
