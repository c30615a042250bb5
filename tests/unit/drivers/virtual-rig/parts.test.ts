import { describe, expect, it } from 'vitest';
import { Chamber } from '../../../../drivers/virtual-rig/chamber.ts';
import { FirstOrderNoise, FirstOrderStage } from '../../../../drivers/virtual-rig/first-order.ts';
import { RandomStream } from '../../../../drivers/virtual-rig/random.ts';
import { SamplingLine } from '../../../../drivers/virtual-rig/sampling-line.ts';
import { Selector } from '../../../../drivers/virtual-rig/selector.ts';
import { mean, quiet } from './support.ts';

describe('random streams', () => {
  const take = (stream: RandomStream, count: number): number[] => Array.from({ length: count }, () => stream.normal());

  it('repeat for the same seed and subsystem, and differ for another of either', () => {
    expect(take(new RandomStream(7, 'chamber'), 5)).toEqual(take(new RandomStream(7, 'chamber'), 5));
    const others = [
      [8, 'chamber'],
      [7, 'chambes'],
      [7 + 2 ** 40, 'chamber'],
    ] as const;
    const kept = take(new RandomStream(7, 'chamber'), 5);
    for (const [seed, subsystem] of others) expect(take(new RandomStream(seed, subsystem), 5)).not.toEqual(kept);
  });

  it('give a standard normal, unrelated between neighbouring seeds', () => {
    const one = take(new RandomStream(1, 'x'), 20_000);
    const two = take(new RandomStream(2, 'x'), 20_000);
    expect(Math.abs(mean(one))).toBeLessThan(0.03);
    expect(mean(one.map((value) => value * value))).toBeCloseTo(1, 1);
    expect(Math.abs(mean(one.map((value, index) => value * (two[index] as number))))).toBeLessThan(0.03);
    const firsts = Array.from({ length: 4000 }, (_, seed) => new RandomStream(seed, 'x').normal());
    expect(Math.abs(mean(firsts))).toBeLessThan(0.07);
    expect(mean(firsts.map((value) => value * value))).toBeCloseTo(1, 1);
  });
});

describe('first-order stage', () => {
  it('follows a step exactly, whatever the grid', () => {
    for (const step of [0.01, 0.5, 3]) {
      const stage = new FirstOrderStage(2, step, 1);
      for (let index = 0; index < 12; index += 1) stage.step(5);
      expect(stage.value).toBeCloseTo(5 - 4 * Math.exp((-12 * step) / 2), 12);
    }
  });

  it('returns the mean of its own value over the step', () => {
    const stage = new FirstOrderStage(2, 0.5, 1);
    // Integral of 5 − 4 e^(−t/2) over half a second, divided by it.
    expect(stage.step(5)).toBeCloseTo(5 - (4 * 2 * (1 - Math.exp(-0.25))) / 0.5, 12);
  });

  it('passes everything on when its time constant is zero', () => {
    const stage = new FirstOrderStage(0, 0.01, 1);
    expect(stage.step(3)).toBe(3);
    expect(stage.value).toBe(3);
  });

  it('as noise keeps variance 1 and the correlation time', () => {
    const random = new RandomStream(3, 'noise');
    const noise = new FirstOrderNoise(10, 1, random.normal());
    const values = Array.from({ length: 40_000 }, () => noise.step(random.normal()));
    expect(mean(values.map((value) => value * value))).toBeCloseTo(1, 1);
    const lagged = mean(values.slice(10).map((value, index) => value * (values[index] as number)));
    expect(lagged).toBeGreaterThan(Math.exp(-1) - 0.06);
    expect(lagged).toBeLessThan(Math.exp(-1) + 0.06);
  });
});

describe('sampling line', () => {
  const line = (options: Partial<ConstructorParameters<typeof SamplingLine>[0]>): SamplingLine =>
    new SamplingLine({ transitSeconds: 1, dispersionSeconds: 0, tail: null, stepSeconds: 0.01, start: 0, ...options });
  /** First moment of the answer to one step of input at time 0: middle of each output step, weighted. */
  const residence = (tube: SamplingLine, seconds: number): { total: number; mean: number; deviation: number } => {
    let total = 0;
    let first = 0;
    let second = 0;
    for (let index = 0; index < seconds * 100; index += 1) {
      const out = tube.step(index === 0 ? 1 : 0);
      const at = index * 0.01;
      total += out;
      first += out * at;
      second += out * at * at;
    }
    return { total, mean: first / total, deviation: Math.sqrt(second / total - (first / total) ** 2) };
  };

  it('delays by exactly its transit, whole steps or not, and loses nothing', () => {
    for (const transitSeconds of [0, 0.004, 0.01, 0.5, 0.5037, 1.8]) {
      const { total, mean: at } = residence(line({ transitSeconds }), 4);
      expect(total).toBeCloseTo(1, 12);
      expect(at).toBeCloseTo(transitSeconds, 12);
    }
  });

  it('keeps its mean residence time and has the stated dispersion', () => {
    const { total, mean: at, deviation } = residence(line({ transitSeconds: 0.6, dispersionSeconds: 0.08 }), 6);
    expect(total).toBeCloseTo(1, 9);
    expect(at).toBeCloseTo(0.6, 9);
    expect(deviation).toBeCloseTo(0.08, 3);
  });

  it('lets a slow tail follow with its share and time', () => {
    const tube = line({ transitSeconds: 0.5, tail: { share: 1e-3, seconds: 8 }, start: 1 });
    let out = 0;
    for (let index = 0; index < 850; index += 1) out = tube.step(0);
    // 8 s after the arrival of clean air.
    expect(out).toBeCloseTo(1e-3 * Math.exp(-1), 5);
  });

  it('keeps its air while nothing is drawn', () => {
    const tube = line({ transitSeconds: 0.1, start: 2 });
    for (let index = 0; index < 5; index += 1) tube.step(0);
    expect(tube.output).toBe(2);
    const after = Array.from({ length: 10 }, () => tube.step(0));
    expect(after.slice(0, 5)).toEqual([2, 2, 2, 2, 2]);
    expect(after[9]).toBe(0);
  });
});

describe('selector', () => {
  it('mixes linearly while it moves and is exact in the mean', () => {
    for (const width of [0, 0.3, 1, 4, 10.5]) {
      const selector = new Selector([1, 2], width, 1);
      selector.moveTo(2);
      let old = 0;
      for (let index = 0; index < 20; index += 1) {
        selector.step();
        expect((selector.shares[0] as number) + (selector.shares[1] as number)).toBeCloseTo(1, 12);
        old += selector.shares[0] as number;
      }
      // A linear handover over `width` steps gives half of it to the old port.
      expect(old).toBeCloseTo(width / 2, 12);
      expect(selector.settled).toBe(true);
      expect(selector.shares[1]).toBe(1);
    }
  });

  it('draws clean air from a number that is not connected', () => {
    const selector = new Selector([1, 2], 0, 1);
    selector.moveTo(9);
    selector.step();
    expect(Array.from(selector.shares)).toEqual([0, 0]);
  });

  it('goes on from where it is when it is sent elsewhere while moving', () => {
    const selector = new Selector([1, 2, 3], 4, 1);
    selector.moveTo(2);
    for (let index = 0; index < 2; index += 1) selector.step();
    selector.moveTo(3);
    for (let index = 0; index < 6; index += 1) selector.step();
    expect(Array.from(selector.shares)).toEqual([0, 0, 1]);
  });
});

describe('chamber', () => {
  const chamber = (changes: Partial<typeof quiet.chamber>): Chamber =>
    new Chamber({ ...quiet.chamber, ...changes }, 12, 0.01, 0.1, new RandomStream(1, 'generator'));
  const run = (room: Chamber, seconds: number): void => {
    for (let index = 0; index < seconds * 100; index += 1) room.step(index / 100);
  };

  it('rises as C_ss (1 − e^(−N t))', () => {
    const room = chamber({ startPercent: 0 });
    run(room, 90);
    expect(room.concentration).toBeCloseTo(12 * (1 - Math.exp(-1)), 9);
    run(room, 180);
    expect(room.concentration).toBeCloseTo(12 * (1 - Math.exp(-3)), 9);
  });

  it('decays as C_0 e^(−N t) when the generator stops', () => {
    const room = chamber({});
    room.generatorRuns = false;
    run(room, 45);
    expect(room.concentration).toBeCloseTo(12 * Math.exp(-0.5), 9);
  });

  it('loses a little through the open door and recovers', () => {
    const room = chamber({ door: { openSeconds: 8, exchangePerSecond: 0.004 } });
    room.openDoor();
    run(room, 8);
    const rate = 1 / 90 + 0.004;
    const target = 12 / 90 / rate;
    expect(room.concentration).toBeCloseTo(target + (12 - target) * Math.exp(-8 * rate), 9);
    run(room, 600);
    expect(room.concentration).toBeCloseTo(12, 1);
  });

  it('fluctuates far less than its generator', () => {
    const room = chamber({ generatorFluctuationPercent: 5 });
    const values: number[] = [];
    for (let index = 0; index < 400_000; index += 1) {
      if (index % 10 === 0) room.renewNoise();
      room.step(index / 100);
      if (index % 100 === 0) values.push(room.concentration);
    }
    const average = mean(values);
    const deviation = Math.sqrt(mean(values.map((value) => (value - average) ** 2))) / average;
    // Correlation time 10 s through 90 s: 5 % · √(10/100) = 1.6 %, within the scatter of 40 independent values.
    expect(deviation).toBeGreaterThan(0.008);
    expect(deviation).toBeLessThan(0.026);
    expect(average).toBeGreaterThan(11.8);
    expect(average).toBeLessThan(12.2);
  });
});
