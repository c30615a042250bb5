import { describe, expect, it } from 'vitest';
import { decodeTruth, TruthWriter, truthLeakagePercent, type Truth } from '../../../../drivers/virtual-rig/truth.ts';
import { joinBytes } from './support.ts';

const header = { binMicroseconds: 50_000, unit: 'mg/m3' as const, probes: ['hood', 'ankle'], backgrounds: [0.1, 0.2] };

/** A run of bins: challenge counts 10, 11, …; hood is a tenth of the bin number, ankle 1. */
function run(from: number, bins: number, perBlock = 4, skipAfter = bins): Uint8Array[] {
  const chunks: Uint8Array[] = [];
  const writer = new TruthWriter({ append: (bytes) => void chunks.push(bytes) }, header, perBlock);
  for (let bin = 0; bin < bins; bin += 1) {
    if (bin === skipAfter) writer.flush();
    const at = from + (bin >= skipAfter ? bin + 10 : bin) * 50_000;
    writer.add(at, 10 + bin, 20, [bin / 10, 1], 1);
  }
  writer.flush();
  writer.flush();
  return chunks;
}

const decoded = (chunks: Uint8Array[]): Truth => {
  const truth = decodeTruth(joinBytes(chunks));
  if (truth === null) throw new Error('no truth');
  return truth;
};

describe('truth record', () => {
  it('comes back as it was written, blocks joined', () => {
    const truth = decoded(run(1_000_000, 10));
    expect(truth.probes).toEqual(['hood', 'ankle']);
    expect(truth.backgrounds).toEqual([0.1, 0.2]);
    expect(truth.unit).toBe('mg/m3');
    expect(truth.tornBytes).toBe(0);
    expect(truth.stretches).toHaveLength(1);
    const stretch = truth.stretches[0];
    expect(stretch?.fromMicroseconds).toBe(1_000_000);
    expect(Array.from(stretch?.challenge ?? [])).toEqual([10, 11, 12, 13, 14, 15, 16, 17, 18, 19]);
    expect(Array.from(stretch?.cells[0] ?? [])).toEqual([0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9]);
  });

  it('decodes a view into a larger buffer', () => {
    const bytes = joinBytes(run(0, 5));
    const shifted = new Uint8Array(bytes.length + 3);
    shifted.set(bytes, 3);
    expect(decodeTruth(shifted.subarray(3))?.stretches[0]?.challenge).toHaveLength(5);
  });

  it('keeps whole blocks when it is torn at any byte', () => {
    const chunks = run(0, 10);
    const whole = joinBytes(chunks);
    const headerEnd = chunks[0]?.length ?? 0;
    for (let length = 0; length < whole.length; length += 1) {
      const truth = decodeTruth(whole.subarray(0, length));
      if (length < headerEnd) {
        expect(truth).toBeNull();
        continue;
      }
      let complete = headerEnd;
      let bins = 0;
      for (const [index, chunk] of chunks.slice(1).entries()) {
        if (complete + chunk.length > length) break;
        complete += chunk.length;
        bins += index < 2 ? 4 : 2;
      }
      expect(truth?.tornBytes).toBe(length - complete);
      expect(truth?.stretches[0]?.challenge.length ?? 0).toBe(bins);
    }
  });

  it('does not believe a block with a changed bit', () => {
    const chunks = run(0, 8);
    const whole = joinBytes(chunks);
    const inSecondBlock = (chunks[0]?.length ?? 0) + (chunks[1]?.length ?? 0) + 30;
    whole[inSecondBlock] = (whole[inSecondBlock] as number) ^ 1;
    const truth = decodeTruth(whole);
    expect(truth?.stretches[0]?.challenge).toHaveLength(4);
    expect(truth?.tornBytes).toBe(chunks[2]?.length);
  });

  it('reads on at the next run after a torn one', () => {
    const first = joinBytes(run(0, 8));
    const truth = decodeTruth(joinBytes([first.subarray(0, first.length - 7), ...run(10_000_000, 6)]));
    expect(truth?.stretches.map((stretch) => [stretch.fromMicroseconds, stretch.challenge.length])).toEqual([
      [0, 4],
      [10_000_000, 6],
    ]);
  });

  it('refuses foreign bytes and runs of different rigs', () => {
    expect(decodeTruth(new Uint8Array(0))).toBeNull();
    expect(decodeTruth(new Uint8Array(500).fill(0x43))).toBeNull();
    const chunks: Uint8Array[] = [];
    new TruthWriter({ append: (bytes) => void chunks.push(bytes) }, { ...header, probes: ['hood', 'chest'] }, 4);
    expect(decodeTruth(joinBytes([...run(0, 4), ...chunks]))).toBeNull();
  });
});

describe('true leakage', () => {
  const truth = decoded(run(1_000_000, 10));

  it('is the ratio of integrals, cut bins counting by their part', () => {
    expect(truthLeakagePercent(truth, 'ankle', 1_000_000, 1_100_000)).toBeCloseTo((100 * 2) / 21, 12);
    // Half of bin 1, all of bin 2, a quarter of bin 3.
    const challenge = 0.5 * 11 + 12 + 0.25 * 13;
    expect(truthLeakagePercent(truth, 'ankle', 1_075_000, 1_162_500)).toBeCloseTo((100 * 1.75) / challenge, 12);
    const hood = 0.5 * 0.1 + 0.2 + 0.25 * 0.3;
    expect(truthLeakagePercent(truth, 'hood', 1_075_000, 1_162_500)).toBeCloseTo((100 * hood) / challenge, 12);
    // Inside one bin.
    expect(truthLeakagePercent(truth, 'hood', 1_460_000, 1_470_000)).toBeCloseTo((100 * 0.9) / 19, 9);
    expect(truthLeakagePercent(truth, 'hood', 1_000_000, 1_500_000)).toBeCloseTo((100 * 4.5) / 145, 12);
  });

  it('is null wherever the record does not say', () => {
    expect(truthLeakagePercent(truth, 'hood', 999_999, 1_100_000)).toBeNull();
    expect(truthLeakagePercent(truth, 'hood', 1_400_000, 1_500_001)).toBeNull();
    expect(truthLeakagePercent(truth, 'hood', 1_200_000, 1_200_000)).toBeNull();
    expect(truthLeakagePercent(truth, 'hood', 1_300_000, 1_200_000)).toBeNull();
    expect(truthLeakagePercent(truth, 'hood', Number.NaN, 1_200_000)).toBeNull();
    expect(truthLeakagePercent(truth, 'knee', 1_100_000, 1_200_000)).toBeNull();
    const gapped = decoded(run(0, 8, 4, 4));
    expect(gapped.stretches).toHaveLength(2);
    expect(truthLeakagePercent(gapped, 'ankle', 100_000, 750_000)).toBeNull();
    expect(truthLeakagePercent(gapped, 'ankle', 700_000, 900_000)).not.toBeNull();
  });

  it('is null where there is no challenge', () => {
    const chunks: Uint8Array[] = [];
    const writer = new TruthWriter({ append: (bytes) => void chunks.push(bytes) }, header, 2);
    writer.add(0, 0, 12, [0, 0], 1);
    writer.add(50_000, 0, 12, [0, 1], 1);
    writer.flush();
    const outside = decoded(chunks);
    expect(truthLeakagePercent(outside, 'hood', 0, 100_000)).toBeNull();
    expect(truthLeakagePercent(outside, 'ankle', 0, 100_000)).toBeNull();
  });
});
