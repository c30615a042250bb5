import { describe, expect, it } from 'vitest';
import { isChambersideError } from '../../../src/model/error-code.ts';
import {
  ageLimit,
  beatVariability,
  rateOfReserve,
  recovery,
  summarizeHeart,
  sustainedAbove,
} from '../../../src/physiology/heart-rate.ts';
import { heatStrain } from '../../../src/physiology/heat-strain.ts';
import {
  cyclingUptake,
  cyclingUptakeWatts,
  heartOnWork,
  highestUptake,
  judgeStep,
  metabolicRate,
  walkingUptake,
  workCapacity170,
} from '../../../src/physiology/work.ts';

const seconds = Float64Array.from({ length: 601 }, (_, index) => index);
const rising = { seconds, perMinute: seconds.map((second) => 90 + second / 30) };

describe('summarizeHeart', () => {
  it('gives mean, highest, lowest and drift of a stretch', () => {
    const found = summarizeHeart(rising, 60, 120);
    expect(found.mean).toBeCloseTo(93, 12);
    expect(found.highest).toBe(94);
    expect(found.lowest).toBe(92);
    expect(found.driftPerMinute).toBeCloseTo(2, 12);
    expect(found).toMatchObject({ readings: 61, refused: 0 });
  });

  it('counts what is no heart and leaves it out', () => {
    const perMinute = rising.perMinute.slice().fill(0, 70, 80).fill(255, 90, 91).fill(NaN, 91, 92);
    const found = summarizeHeart({ seconds, perMinute }, 60, 120);
    expect(found).toMatchObject({ readings: 49, refused: 12, highest: 94 });
  });

  it('refuses a stretch without a heart', () => {
    expect(() => summarizeHeart(rising, 700, 800)).toThrow(/belt/);
  });
});

describe('sustainedAbove', () => {
  it('begins anew after a reading at the limit, and after silence', () => {
    const perMinute = seconds.map(() => 150);
    perMinute[200] = 140;
    expect(sustainedAbove({ seconds, perMinute }, 140, 300)).toBe(501);
    const torn = seconds.filter((second) => second < 100 || second > 140);
    expect(sustainedAbove({ seconds: torn, perMinute: torn.map(() => 150) }, 140, 300)).toBe(441);
  });

  it('refuses no time', () => {
    expect(() => sustainedAbove(rising, 100, 0)).toThrow(RangeError);
  });
});

it('recovery is the drop within a minute', () => {
  const perMinute = seconds.map((second) => (second <= 300 ? 160 : 100 + 60 * Math.exp(-(second - 300) / 60)));
  const found = recovery({ seconds, perMinute }, 300);
  expect(found.atEnd).toBe(160);
  expect(found.drop).toBeCloseTo(60 * (1 - Math.exp(-1)), 0);
  expect(() => recovery({ seconds, perMinute }, 595)).toThrow(/belt/);
});

describe('beatVariability', () => {
  it('takes no difference across an interval that is no beat', () => {
    const found = beatVariability([800, 810, 400, 1200, 800, 860]);
    expect(found).toMatchObject({ intervals: 4, refused: 2 });
    // Differences 10 and 60 remain.
    expect(found.rmssd).toBeCloseTo(Math.sqrt((100 + 3600) / 2), 12);
    expect(found.pnn50Percent).toBe(50);
  });

  it.each([[[]], [[800, 810]], [[100, 100, 100, 100]]])('refuses %j', (intervals) => {
    expect(() => beatVariability(intervals)).toThrow(/belt/);
  });
});

describe('work-rate steps', () => {
  const step = { watts: 100, fromSeconds: 0, toSeconds: 300 };

  it('are steady when the last two minutes agree', () => {
    expect(judgeStep(step, rising)).toMatchObject({ steady: true });
    expect(judgeStep(step, rising).change).toBeCloseTo(2, 1);
    const fast = { seconds, perMinute: seconds.map((second) => 90 + second / 10) };
    expect(judgeStep(step, fast).steady).toBe(false);
  });

  it('give a line, and no capacity where it does not rise', () => {
    const line = heartOnWork([
      { watts: 50, perMinute: 110 },
      { watts: 100, perMinute: 130 },
      { watts: 150, perMinute: 150 },
    ]);
    expect(line.perWatt).toBeCloseTo(0.4, 12);
    expect(line.intercept).toBeCloseTo(90, 12);
  });

  it('take a factor for age between those of the table', () => {
    expect(highestUptake('man', 2, 140, 30) / highestUptake('man', 2, 140, null)).toBeCloseTo(0.935, 12);
    expect(highestUptake('man', 2, 140, 15) / highestUptake('man', 2, 140, null)).toBeCloseTo(1.1, 12);
    expect(highestUptake('man', 2, 140, 65) / highestUptake('man', 2, 140, null)).toBeCloseTo(0.65, 12);
  });
});

describe('heatStrain', () => {
  it('goes beyond ten, marked, where a limit is passed', () => {
    const found = heatStrain({ coreCelsius: 37, perMinute: 70 }, { coreCelsius: 39.8, perMinute: 185 });
    expect(found.index).toBeGreaterThan(10);
    expect(found).toMatchObject({ band: 'very high', withinBasis: false });
  });

  it('names its bands', () => {
    const start = { coreCelsius: 36.5, perMinute: 60 };
    const at = (coreCelsius: number) => heatStrain(start, { coreCelsius, perMinute: 120 });
    expect([36.5, 37.5, 38.5, 39.4].map((core) => at(core).band)).toEqual(['none', 'low', 'moderate', 'high']);
  });
});

const state = (coreCelsius: number, perMinute: number) => ({ coreCelsius, perMinute });
const points = (...rates: number[]) => rates.map((perMinute, index) => ({ watts: 50 + 50 * index, perMinute }));

describe('outside its range', () => {
  it.each([
    ['an age of 12', () => ageLimit('tanaka', 12)],
    ['an age that is no number', () => ageLimit('tanaka', NaN)],
    ['a share of the reserve in percent', () => rateOfReserve(60, 70, 180)],
    ['no reserve', () => rateOfReserve(0.6, 180, 180)],
    ['a load below the formula', () => cyclingUptake(200, 70)],
    ['a load above the formula', () => cyclingUptakeWatts(250, 70)],
    ['a mass in grams', () => cyclingUptakeWatts(150, 70_000)],
    ['running', () => walkingUptake(200, 0)],
    ['a grade in percent', () => walkingUptake(80, 10)],
    ['one load', () => workCapacity170(points(130))],
    ['a rate that falls', () => workCapacity170(points(155, 130))],
    ['a first load too heavy', () => workCapacity170(points(145, 160))],
    ['a last load too light', () => workCapacity170(points(125, 145))],
    ['a low heart rate', () => highestUptake('man', 2, 110, 30)],
    ['an age beyond the factors', () => highestUptake('man', 2, 140, 70)],
    ['a rate near the highest', () => metabolicRate('man', 30, 70, 65, 180)],
    ['a resting rate of effort', () => metabolicRate('woman', 30, 60, 110, 130)],
    ['a short step', () => judgeStep({ watts: 100, fromSeconds: 0, toSeconds: 120 }, rising)],
    ['a start with fever', () => heatStrain(state(39.5, 70), state(39.6, 80))],
    ['a thermometer in fahrenheit', () => heatStrain(state(37, 70), state(98, 80))],
  ])('%s is refused with what, where and what to do', (_, call) => {
    try {
      call();
      expect.unreachable();
    } catch (error) {
      if (!isChambersideError(error, 'outside-validity')) throw error;
      for (const part of [error.what, error.where, error.remedy]) expect(part.length).toBeGreaterThan(8);
    }
  });
});
