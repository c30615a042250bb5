import { describe, expect, it } from 'vitest';
import { lagCorrectedMean, plainMean } from '../../../src/leakage/lag.ts';
import { gaussianSource } from '../../support/gaussian.ts';

const interval = 50_000;

/** Readings of y(t) at 20 Hz, t in seconds from the first. */
function sampled(count: number, y: (seconds: number) => number) {
  const atMicroseconds = Float64Array.from({ length: count }, (_, index) => 3_000_000 + index * interval);
  return { atMicroseconds, values: atMicroseconds.map((at) => y((at - 3_000_000) / 1e6)) };
}

const correct = (source: ReturnType<typeof sampled>, tau: number, ends = 0.3) =>
  lagCorrectedMean(source.atMicroseconds, source.values, 0, source.values.length, tau, ends);

describe('lagCorrectedMean', () => {
  for (const tau of [0.3, 1, 2]) {
    for (const settled of [0, 1, 5]) {
      // Straight after the step only a whole window: the trapezium rule keeps dt²/12 tau² of the decay, over W.
      for (const count of settled === 0 ? [260] : [60, 260]) {
        it(`removes carry-over of a whole step: tau ${tau} s, settled ${settled} s, ${count} readings`, () => {
          const source = sampled(count, (t) => 0.02 + (1 - 0.02) * Math.exp(-(t + settled) / tau));
          expect(Math.abs(correct(source, tau).corrected - 0.02)).toBeLessThan(1e-4);
        });
      }
    }

    it(`leaves only the error of the time constant: tau ${tau} s taken 3 % too long`, () => {
      const source = sampled(260, (t) => Math.exp(-t / tau));
      const { corrected, fromMicroseconds, toMicroseconds } = correct(source, 1.03 * tau);
      const start = Math.exp(-(fromMicroseconds - 3_000_000) / 1e6 / tau);
      const expected = (-0.03 * tau * start) / ((toMicroseconds - fromMicroseconds) / 1e6);
      expect(corrected / expected).toBeGreaterThan(0.95);
      expect(corrected / expected).toBeLessThan(1.1);
    });
  }

  it('without averaging over many ends a mean of all readings would keep a part of the carry-over', () => {
    const source = sampled(260, (t) => Math.exp(-t));
    const { mean } = plainMean(source.atMicroseconds, source.values, 0, 260);
    const ends = (first: number) => source.values.slice(first, first + 6).reduce((sum, value) => sum + value, 0) / 6;
    const careless = mean + (ends(254) - ends(0)) / (254 * 0.05);
    expect(Math.abs(careless)).toBeGreaterThan(0.008);
    expect(Math.abs(correct(source, 1).corrected)).toBeLessThan(1e-4);
  });

  it('finds the mean of a moving concentration over the stretch it names', () => {
    // c = 1 + 0.4 sin(2 pi f t) + 0.02 t through tau: amplitude and phase of a first-order instrument.
    const tau = 1;
    const omega = 2 * Math.PI * 0.4;
    const y = (t: number): number =>
      1 +
      (0.4 * (Math.sin(omega * t) - omega * tau * Math.cos(omega * t))) / (1 + (omega * tau) ** 2) +
      0.02 * (t - tau);
    const source = sampled(247, y);
    const result = correct(source, tau);
    const from = (result.fromMicroseconds - 3_000_000) / 1e6;
    const to = (result.toMicroseconds - 3_000_000) / 1e6;
    const integral = (t: number): number => t - (0.4 * Math.cos(omega * t)) / omega + 0.01 * t * t;
    const expected = (integral(to) - integral(from)) / (to - from);
    expect(Math.abs(result.corrected - expected)).toBeLessThan(5e-4);
    const plain = plainMean(source.atMicroseconds, source.values, 0, 247).corrected;
    expect(Math.abs(plain - expected)).toBeGreaterThan(0.015);
  });

  it('is the level itself for a constant, at zero, negative and huge', () => {
    for (const level of [0, -3, 1e12]) {
      const { corrected, lagTerm } = correct(
        sampled(101, () => level),
        2,
      );
      expect(lagTerm).toBe(0);
      expect(Math.abs(corrected - level)).toBeLessThanOrEqual(1e-12 * Math.abs(level));
    }
  });

  it('without a time constant it is the mean that fades in and out', () => {
    const { corrected, lagTerm, mean } = correct(
      sampled(100, (t) => t),
      0,
    );
    expect(lagTerm).toBe(0);
    expect(corrected).toBe(mean);
    expect(corrected).toBeCloseTo(4.95 / 2, 12);
  });

  it('names the sum of squared weights with which noise enters', () => {
    const gaussian = gaussianSource(11);
    const repeats = 4000;
    let squares = 0;
    let expected = 0;
    for (let repeat = 0; repeat < repeats; repeat += 1) {
      const result = correct(
        sampled(80, () => gaussian()),
        1,
      );
      squares += result.corrected ** 2;
      expected = result.squaredWeights;
    }
    expect(squares / repeats / expected).toBeGreaterThan(0.93);
    expect(squares / repeats / expected).toBeLessThan(1.07);
  });

  it('shortens the ends for short windows and refuses windows without a middle', () => {
    expect(
      correct(
        sampled(4, (t) => t),
        1,
      ).endReadings,
    ).toBe(2);
    expect(
      correct(
        sampled(3, (t) => t),
        1,
      ).endReadings,
    ).toBe(1);
    expect(() =>
      correct(
        sampled(2, (t) => t),
        1,
      ),
    ).toThrow(RangeError);
    expect(() =>
      correct(
        sampled(10, (t) => t),
        -1,
      ),
    ).toThrow(RangeError);
  });

  it('does not divide by a window without length', () => {
    const atMicroseconds = new Float64Array(5).fill(7);
    const result = lagCorrectedMean(atMicroseconds, Float64Array.of(1, 2, 3, 4, 5), 0, 5, 1, 0.3);
    expect(result.lagTerm).toBe(0);
    expect(result.corrected).toBe(3);
  });
});
