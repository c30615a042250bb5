import { describe, expect, it } from 'vitest';
import { drawTrueValues } from '../../../../drivers/virtual-rig/draws.ts';
import type { Scenario } from '../../../../drivers/virtual-rig/scenario.ts';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { toMicroseconds } from '../../../../src/model/time.ts';
import { mean, plain, probes, quiet, record } from './support.ts';

const referencePort = 6;
const filteredPort = 7;

describe('an analytic step', () => {
  /** When the photometer has gone a share of the way from clean air to the chamber, s. */
  function crossing(scenario: Scenario, commandAt: number, share: number): number {
    const { physics } = record(scenario, 1, null);
    physics.moveValve(toMicroseconds(commandAt), referencePort);
    for (let millisecond = Math.ceil(commandAt * 1000); millisecond < 20_000; millisecond += 1) {
      if (physics.readPhotometer(millisecond * 1000) >= 12 * share) return millisecond / 1000;
    }
    throw new Error('never arrived');
  }

  it('arrives at T + tau within 5 ms, and decays as computed at any other time', () => {
    // T is the common line and the delay inside: 0.5 + 0.1 s.
    for (const multiple of [0.2, 1, 3]) {
      const at = crossing(plain, 1, 1 - Math.exp(-multiple));
      expect(Math.abs(at - (1 + 0.6 + multiple))).toBeLessThanOrEqual(0.005);
    }
  });

  it('does so with the real valve and dispersion, the middle of the valve’s movement counting', () => {
    const at = crossing(quiet, 1, 1 - Math.exp(-1));
    // Dispersion s and a ramp w delay a first-order answer by (s² + w²/12)/(2 tau), 4 ms, beside their means.
    const spread = (0.08 ** 2 + 0.15 ** 2 / 12) / 2;
    expect(Math.abs(at - (1 + 0.15 / 2 + 0.6 + 1 + spread))).toBeLessThanOrEqual(0.0015);
  });

  it('rounds the moment of a command to the nearest grid step', () => {
    const { physics } = record(plain, 1, null);
    physics.moveValve(1_003_700, referencePort);
    expect(physics.readPhotometer(3_000_000)).toBeCloseTo(12 * (1 - Math.exp(-(3 - 1 - 0.6))), 9);
    const later = record(plain, 1, null).physics;
    later.moveValve(1_005_100, referencePort);
    expect(later.readPhotometer(3_000_000)).toBeCloseTo(12 * (1 - Math.exp(-(3 - 1.01 - 0.6))), 9);
  });

  it('lets readings follow the truth by the full transit of the port', () => {
    for (const [index, port] of plain.rig.ports.slice(0, probes.length).entries()) {
      const { physics, bins } = record(plain, 5, { exercise: 'knee-bends' });
      physics.moveValve(0, port.port);
      const readings: number[] = [];
      for (let tick = 0; tick <= 800; tick += 1) readings.push(physics.readPhotometer(tick * 50_000));
      // Undo the first order between two readings of the photometer: the mean of its input over the 50 ms between.
      const keep = Math.exp(-0.05);
      const inputs = readings.slice(1).map((reading, at) => {
        const before = readings[at] as number;
        return (reading - before * keep) / (1 - keep);
      });
      const background = ((plain.ensemble.zones[index]?.backgroundPercent ?? 0) / 100) * 12;
      const truth = bins.map((bin) => (bin.cells[index] as number) + background);
      const error = (delaySeconds: number): number => {
        const bins50 = delaySeconds / 0.05;
        let sum = 0;
        for (let at = 200; at < 700; at += 1) {
          const whole = Math.floor(at - bins50);
          const part = at - bins50 - whole;
          const expected = (1 - part) * (truth[whole] as number) + part * (truth[whole + 1] as number);
          sum += ((inputs[at] as number) - expected) ** 2;
        }
        return sum;
      };
      const transit = port.transitSeconds.value + 0.6;
      const delays = Array.from({ length: 101 }, (_, step) => transit + (step - 50) / 1000);
      const best = delays.reduce((kept, delay) => (error(delay) < error(kept) ? delay : kept));
      expect(Math.abs(best - transit)).toBeLessThanOrEqual(0.005);
    }
  });
});

describe('determinism', () => {
  const cues = (scenario: Scenario, seed: number, lookEvery: number | null): { readings: number[]; bins: unknown } => {
    const { physics, bins } = record(scenario, seed, null);
    let look = 0;
    const lookUntil = (seconds: number): void => {
      if (lookEvery === null) return;
      for (; look < toMicroseconds(seconds); look += lookEvery) physics.readPhotometer(look);
    };
    const readings: number[] = [];
    lookUntil(3);
    physics.cue(3_001_234, { cue: 'enter', exercise: null });
    lookUntil(8);
    physics.moveValve(8_004_999, 5);
    lookUntil(10);
    physics.cue(10_007_000, { cue: 'begin', exercise: 'crawl' });
    lookUntil(30);
    for (let second = 30; second < 40; second += 1) readings.push(physics.readPhotometer(second * 1e6 + 20_000));
    return { readings, bins };
  };

  it('repeats to the last bit for a seed and not for another', () => {
    expect(cues(demo, 7, null)).toEqual(cues(demo, 7, null));
    expect(cues(demo, 7, null).readings).not.toEqual(cues(demo, 8, null).readings);
  });

  it('does not depend on how often anybody looks', () => {
    const seldom = cues(demo, 7, null);
    for (const microseconds of [1_000_000, 50_000, 7_777]) expect(cues(demo, 7, microseconds)).toEqual(seldom);
  });

  it('draws true values around the certificate', () => {
    const draws = Array.from({ length: 400 }, (_, seed) => drawTrueValues(demo, seed));
    const spread = (values: number[]): [number, number] => {
      const average = mean(values);
      return [average, Math.sqrt(mean(values.map((value) => (value - average) ** 2)))];
    };
    const near = ([average, deviation]: [number, number], value: number, uncertainty: number): void => {
      expect(Math.abs(average - value)).toBeLessThan(uncertainty * 0.25);
      expect(deviation).toBeGreaterThan(uncertainty * 0.85);
      expect(deviation).toBeLessThan(uncertainty * 1.15);
    };
    near(spread(draws.map((draw) => draw.spatialFactor)), 1, 0.01);
    near(spread(draws.map((draw) => draw.timeConstantSeconds)), 1, 0.03);
    near(spread(draws.map((draw) => draw.ports[4]?.dilution ?? 0)), 1, 0.01);
    near(spread(draws.map((draw) => draw.ports[4]?.penetration ?? 0)), 1, 0.003);
    near(spread(draws.map((draw) => draw.ports[4]?.transitSeconds ?? 0)), 1.8, 0.05);
    expect(drawTrueValues({ ...demo, trueValues: 'stated' }, 3).spatialFactor).toBe(1);
  });
});

describe('independence of the streams', () => {
  const bins = (scenario: Scenario): unknown => {
    const { physics, bins: recorded } = record(scenario, 11, { exercise: 'march' });
    physics.advanceTo(20_000_000);
    return recorded;
  };
  const cells = (scenario: Scenario): number[][] => {
    const { physics, bins: recorded } = record(scenario, 11, { exercise: 'march' });
    physics.advanceTo(20_000_000);
    return recorded.map((bin) => bin.cells);
  };

  it('leaves the truth untouched when the photometer is made ideal', () => {
    expect(bins({ ...demo, photometer: quiet.photometer })).toEqual(bins(demo));
  });

  it('leaves the challenge untouched when strokes and slow changes are switched off', () => {
    const calm = { ...demo, ensemble: { ...demo.ensemble, strokePercent: 0, slowPercent: 0 } };
    const challenge = (scenario: Scenario): number[] => {
      const { physics, bins: recorded } = record(scenario, 11, { exercise: 'march' });
      physics.advanceTo(20_000_000);
      return recorded.map((bin) => bin.challenge);
    };
    expect(challenge(calm)).toEqual(challenge(demo));
    expect(cells(calm)).not.toEqual(cells(demo));
  });

  it('leaves the leakage untouched when the generator is steady', () => {
    const steady = { ...demo, chamber: { ...demo.chamber, generatorFluctuationPercent: 0 } };
    const ratio = (scenario: Scenario): number => {
      const { physics, bins: recorded } = record(scenario, 11, { exercise: 'march' });
      physics.advanceTo(20_000_000);
      const last = recorded.slice(-100);
      return mean(last.map((bin) => bin.cells[4] as number)) / mean(last.map((bin) => bin.challenge));
    };
    expect(ratio(steady) / ratio(demo)).toBeCloseTo(1, 1);
  });
});

describe('ensemble', () => {
  const scaled = (factor: number, only: string | null): Scenario => ({
    ...demo,
    ensemble: {
      ...demo.ensemble,
      paths: demo.ensemble.paths.map((path) =>
        only === null || path.zone === only
          ? { ...path, millilitresPerMinute: path.millilitresPerMinute * factor }
          : path,
      ),
    },
  });
  const cells = (scenario: Scenario): number[][] => {
    const { physics, bins } = record(scenario, 4, { exercise: 'side-bends' });
    physics.advanceTo(60_000_000);
    return bins.map((bin) => bin.cells);
  };

  it('doubles the leakage exactly when every leak path is doubled', () => {
    const single = cells(demo);
    const doubled = cells(scaled(2, null));
    expect(doubled).toEqual(single.map((row) => row.map((value) => 2 * value)));
  });

  it('very nearly doubles the zone of one doubled path and hardly moves the others', () => {
    const average = (rows: number[][], zone: number): number => mean(rows.map((row) => row[zone] as number));
    const single = cells(demo);
    const doubled = cells(scaled(2, 'ankle'));
    const ratio = probes.map((_, zone) => average(doubled, zone) / average(single, zone));
    expect(ratio[4]).toBeGreaterThan(1.97);
    expect(ratio[4]).toBeLessThanOrEqual(2);
    for (const other of ratio.slice(0, 4)) expect(other).toBeLessThan(1.06);
  });

  it('leaks nothing before the subject has entered, while backgrounds are there', () => {
    const { physics, bins } = record(quiet, 1, null);
    physics.moveValve(0, 5);
    const reading = physics.readPhotometer(30_000_000);
    expect(reading).toBeCloseTo(0.003 * 0.12, 9);
    expect(bins.every((bin) => bin.challenge === 0 && bin.cells.every((cell) => cell === 0))).toBe(true);
    expect(bins[0]?.reference).toBeCloseTo(12, 9);
  });

  it('flushes a zone in about 11 s after the subject has left', () => {
    const { physics, bins } = record(quiet, 1, { exercise: null });
    physics.advanceTo(20_000_000);
    physics.cue(20_000_000, { cue: 'leave', exercise: null });
    physics.advanceTo(60_000_000);
    const later = (seconds: number): number => bins[seconds * 20]?.cells[1] as number;
    const flush = 10 / Math.log(later(25) / later(35));
    expect(flush).toBeGreaterThan(10);
    expect(flush).toBeLessThan(13);
    expect(bins.at(-1)?.challenge).toBe(0);
  });

  it('starts inside where a long stay leads', () => {
    const started = record(quiet, 1, { exercise: 'march' });
    started.physics.advanceTo(100_000_000);
    for (const zone of probes.keys()) {
      const early = mean(started.bins.slice(0, 400).map((bin) => bin.cells[zone] as number));
      const late = mean(started.bins.slice(1600).map((bin) => bin.cells[zone] as number));
      expect(Math.abs(early / late - 1)).toBeLessThan(0.05);
    }
  });

  it('bursts with the strokes: strongly at most probes, weakly at the hood', () => {
    const { physics, bins } = record(quiet, 1, { exercise: 'trunk-twist' });
    physics.advanceTo(80_000_000);
    const ripple = probes.map((_, zone) => {
      const values = bins.slice(-800).map((bin) => bin.cells[zone] as number);
      return (Math.max(...values) - Math.min(...values)) / mean(values);
    });
    expect(ripple[0]).toBeLessThan(0.12);
    for (const one of ripple.slice(1)) {
      expect(one).toBeGreaterThan(0.2);
      expect(one).toBeLessThan(0.45);
    }
  });
});

describe('sampling', () => {
  it('draws stale air first where no bypass keeps the lines flowing', () => {
    const still: Scenario = { ...plain, rig: { ...plain.rig, bypass: false } };
    const response = (scenario: Scenario, seconds: number): number => {
      const { physics } = record(scenario, 1, null);
      physics.cue(10_000_000, { cue: 'enter', exercise: null });
      physics.cue(11_000_000, { cue: 'begin', exercise: 'crawl' });
      physics.moveValve(60_000_000, 5);
      return physics.readPhotometer(toMicroseconds(60 + seconds));
    };
    const background = 0.003 * 0.12;
    // Common transit 0.6 s: with bypass the ankle arrives then, without it 1.8 s later.
    expect(response(plain, 1.5)).toBeGreaterThan(20 * background);
    expect(response(still, 1.5)).toBeLessThan(1.01 * background);
    expect(response(still, 6)).toBeGreaterThan(20 * background);
  });

  it('applies dilution and loss of the port', () => {
    const diluted: Scenario = {
      ...plain,
      rig: {
        ...plain.rig,
        ports: plain.rig.ports.map((port) =>
          port.role === 'reference'
            ? {
                ...port,
                dilution: { value: 20, standardUncertainty: 0 },
                penetration: { value: 0.96, standardUncertainty: 0 },
              }
            : port,
        ),
      },
    };
    const { physics } = record(diluted, 1, null);
    physics.moveValve(0, referencePort);
    expect(physics.readPhotometer(30_000_000)).toBeCloseTo((12 * 0.96) / 20, 9);
  });

  it('reads flat zero from a blocked line, also from the chamber', () => {
    const { physics } = record(plain, 1, null);
    physics.moveValve(0, referencePort);
    physics.setBlocked(20_000_000, 'chamber', true);
    expect(physics.readPhotometer(40_000_000)).toBeCloseTo(0, 6);
    physics.setBlocked(40_000_000, 'chamber', false);
    expect(physics.readPhotometer(60_000_000)).toBeCloseTo(12, 6);
  });
});

describe('photometer', () => {
  const settled = (changes: Partial<Scenario['photometer']>, port: number, scenario = plain): number[] => {
    const { physics } = record({ ...scenario, photometer: { ...scenario.photometer, ...changes } }, 9, null);
    physics.moveValve(0, port);
    return Array.from({ length: 4000 }, (_, index) => physics.readPhotometer(30_000_000 + index * 50_000));
  };
  const deviation = (values: number[]): number => {
    const average = mean(values);
    return Math.sqrt(mean(values.map((value) => (value - average) ** 2)));
  };

  it('has the stated baseline noise per reading', () => {
    const noise = deviation(settled({ baselineNoisePercent: 0.004 }, filteredPort)) / 0.12;
    expect(noise).toBeGreaterThan(0.0038);
    expect(noise).toBeLessThan(0.0042);
  });

  it('has shot noise of 0.01 √c percent on a mean of one second', () => {
    const readings = settled({ shotNoisePercent: 0.01 }, referencePort);
    const seconds = Array.from({ length: 200 }, (_, index) => mean(readings.slice(index * 20, index * 20 + 20)));
    const noise = deviation(seconds) / 0.12;
    expect(noise).toBeGreaterThan(0.085);
    expect(noise).toBeLessThan(0.115);
  });

  it('saturates and quantises', () => {
    const bright = { ...plain, rig: { ...plain.rig, saturation: 5 } };
    expect(settled({}, referencePort, bright)[0]).toBe(5);
    const stepped = settled({ quantum: 0.01, baselineNoisePercent: 0.5 }, filteredPort);
    const off = stepped.map((value) => Math.abs(value * 100 - Math.round(value * 100)));
    expect(Math.max(...off)).toBeLessThan(1e-6);
    expect(new Set(stepped).size).toBeGreaterThan(5);
  });

  it('drifts in the stated shape', () => {
    const drift = { ...plain.photometer.zeroDrift, linearPercentPerHour: 2 };
    const line = { ...plain, photometer: { ...plain.photometer, zeroReading: 0.02, zeroDrift: drift } };
    const { physics } = record(line, 9, null);
    expect(physics.readPhotometer(1_800_000_000)).toBeCloseTo(0.02 + 0.01 * 12, 9);
    const smooth = { ...drift, linearPercentPerHour: 0, smoothPercentPerHour: 2, smoothPeriodMinutes: 30 };
    const wave = record({ ...plain, photometer: { ...plain.photometer, zeroDrift: smooth } }, 9, null).physics;
    const readings = Array.from({ length: 181 }, (_, index) => wave.readPhotometer(index * 10_000_000));
    const slopes = readings.slice(1).map((value, index) => Math.abs(value - (readings[index] as number)) * 360);
    expect(Math.max(...slopes) / 12).toBeCloseTo(0.02, 3);
    expect(Math.abs((readings.at(-1) as number) - (readings[0] as number))).toBeLessThan(1e-3);
  });

  it('jumps in zero and span when told', () => {
    const { physics } = record(plain, 1, null);
    physics.moveValve(0, referencePort);
    physics.jumpZero(20_000_000, 0.5);
    physics.jumpSpan(20_000_000, -10);
    expect(physics.readPhotometer(20_100_000)).toBeCloseTo(0.9 * 12 + 0.06, 6);
  });
});

describe('subject', () => {
  it('warms up with work, faster than it recovers, below the ceiling of its age', () => {
    const { physics } = record(demo, 2, null);
    const rest = physics.readHeartRate(1_000_000);
    physics.cue(10_000_000, { cue: 'begin', exercise: 'step-21' });
    const after28 = physics.readHeartRate(38_000_000);
    const end = physics.readHeartRate(310_000_000);
    physics.cue(310_000_000, { cue: 'end', exercise: 'step-21' });
    const recovering = physics.readHeartRate(355_000_000);
    expect(rest).toBeCloseTo(78, 6);
    expect((after28 - rest) / (0.75 * 95)).toBeCloseTo(1 - Math.exp(-1), 2);
    expect(end).toBeGreaterThan(145);
    expect(end).toBeLessThan(208 - 0.7 * 34);
    expect((recovering - rest) / (end - rest)).toBeGreaterThan(Math.exp(-1));
    expect((recovering - rest) / (end - rest)).toBeLessThan(Math.exp(-1) + 0.06);
  });

  it('beats as often as its heart rate says, not like clockwork', () => {
    const { physics } = record(demo, 2, null);
    const intervals: number[] = [];
    for (let second = 1; second <= 300; second += 1) intervals.push(...physics.takeRrIntervals(second * 1_000_000));
    expect(60 / mean(intervals)).toBeGreaterThan(76);
    expect(60 / mean(intervals)).toBeLessThan(80);
    expect(new Set(intervals).size).toBeGreaterThan(intervals.length * 0.9);
    const average = mean(intervals);
    const scatter = Math.sqrt(mean(intervals.map((value) => (value - average) ** 2))) / average;
    expect(scatter).toBeGreaterThan(0.01);
    expect(scatter).toBeLessThan(0.05);
  });
});

describe('speed', () => {
  it('leaves the physics of a whole demo trial far below real time', () => {
    const { physics } = record(demo, 1, { exercise: 'crawl' });
    const began = performance.now();
    physics.advanceTo(1_700_000_000);
    expect(performance.now() - began).toBeLessThan(5000);
  });
});
