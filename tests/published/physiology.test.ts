import { describe, expect, it } from 'vitest';
import { breathsFromFlow } from '../../src/physiology/breathing.ts';
import {
  btpsFactor,
  btpsToStpd,
  saturationPressure,
  stpdFactor,
  type VapourFormula,
} from '../../src/physiology/gas-volume.ts';
import { ageLimit, beatVariability, rateOfReserve, sustainedAbove } from '../../src/physiology/heart-rate.ts';
import { heatStrain } from '../../src/physiology/heat-strain.ts';
import {
  cyclingUptake,
  cyclingUptakeWatts,
  highestUptake,
  metabolicEquivalents,
  metabolicRate,
  walkingUptake,
  workCapacity170,
} from '../../src/physiology/work.ts';

const apart = (actual: number, expected: number): number => Math.abs(actual - expected);
const saturated = (celsius: number, pressure = 760) => ({ celsius, pressure, relativeHumidity: 1 });
const body = saturated(37);

// 220 − age, Tanaka and 180 − age (NIOSHTIC 20022478) seen, ISO 9886 from memory.
describe('heart rate by age', () => {
  it.each([
    [40, 180, 180, 159, 140],
    [25, 195, 190.5, 168.75, 155],
    // Further rows of the same table, computed.
    [20, 200, 194, 172, 160],
    [60, 160, 166, 146, 120],
  ])('%i years: %f, %f, %f, %f', (age, classical, tanaka, iso, sustained) => {
    expect(ageLimit('220-minus-age', age)).toBe(classical);
    expect(apart(ageLimit('tanaka', age), tanaka)).toBeLessThan(1e-9);
    expect(apart(ageLimit('iso-9886', age), iso)).toBeLessThan(1e-9);
    expect(ageLimit('sustained-strain', age)).toBe(sustained);
  });

  it('131 a minute for 5 min at 50 years is sustained strain, limit 130; 130 is not (seen: NIOSHTIC 20022478)', () => {
    const seconds = Float64Array.from({ length: 400 }, (_, index) => index);
    const limit = ageLimit('sustained-strain', 50);
    expect(limit).toBe(130);
    expect(sustainedAbove({ seconds, perMinute: seconds.map(() => 131) }, limit, 300)).toBe(300);
    expect(sustainedAbove({ seconds, perMinute: seconds.map(() => 130) }, limit, 300)).toBeNull();
  });

  it('60 % of the reserve from 70 to 180 is 136 (seen: public code)', () => {
    expect(rateOfReserve(0.6, 70, 180)).toBe(136);
  });

  it('RR 835.9375, 812.5, 829.1015625, 851.5625 ms (computed)', () => {
    const found = beatVariability([835.9375, 812.5, 829.1015625, 851.5625]);
    expect(apart(found.rmssd / 21.050907, 1)).toBeLessThan(1e-6);
    expect(apart(found.sdnn / 16.192003, 1)).toBeLessThan(1e-6);
    expect(apart(found.meanPerMinute / 72.091522, 1)).toBeLessThan(1e-6);
    expect(found.pnn50Percent).toBe(0);
  });
});

describe('heat strain index (formula seen: Am. J. Physiol. 275:R129 in abstracts)', () => {
  it.each([
    [36.5, 36.5, 60, 60, 0, 1e-12],
    [36.5, 39.5, 60, 180, 10, 1e-12],
    [36.5, 38, 60, 120, 5, 1e-12],
    [37, 38.5, 70, 150, 6.636364, 1e-6],
    [36.8, 38.2, 65, 140, 5.853462, 1e-6],
    [37, 38.5, 72, 160, 7.074074, 1e-6],
  ])('%f → %f °C, %f → %f a minute: %f', (core, coreNow, rate, rateNow, index, limit) => {
    const found = heatStrain({ coreCelsius: core, perMinute: rate }, { coreCelsius: coreNow, perMinute: rateNow });
    expect(apart(found.index, index)).toBeLessThanOrEqual(limit);
    expect(found.withinBasis).toBe(true);
  });
});

describe('work', () => {
  it('62 kg at 450 kg·m/min take 20.0645 mL/(min·kg) (seen: ACSM sheet, which prints 20)', () => {
    expect(apart(cyclingUptake(450, 62), 20.0645)).toBeLessThan(1e-4);
  });

  it('70 kg at 600 kg·m/min take 22.428571, 6.408163 equivalents (computed)', () => {
    expect(apart(cyclingUptake(600, 70), 22.428571)).toBeLessThan(1e-6);
    expect(apart(metabolicEquivalents(cyclingUptake(600, 70)), 6.408163)).toBeLessThan(1e-6);
  });

  it('75 kg at 150 W take 28.6 (computed)', () => {
    expect(apart(cyclingUptakeWatts(150, 75), 28.6)).toBeLessThan(1e-9);
  });

  it('walking 93.8 m/min at 10 % takes 29.764 (seen: ACSM sheet, 29.76); 5 km/h level 11.83333 (computed)', () => {
    expect(apart(walkingUptake(93.8, 0.1), 29.764)).toBeLessThan(1e-3);
    expect(apart(walkingUptake(5000 / 60, 0), 11.83333)).toBeLessThan(1e-5);
  });

  it('100 W at 130 and 150 W at 153 a minute are 186.956522 W at 170 (seen: public PWC170 page, 186.96)', () => {
    const points = [
      { watts: 100, perMinute: 130 },
      { watts: 150, perMinute: 153 },
    ];
    expect(apart(workCapacity170(points), 186.956522)).toBeLessThan(1e-5);
  });

  it('2.1 L/min at 140 is 3.562025 for a man, 1.5 is 2.779412 for a woman (formula from memory, computed)', () => {
    expect(apart(highestUptake('man', 2.1, 140, null), 3.562025)).toBeLessThan(1e-5);
    expect(apart(highestUptake('woman', 1.5, 140, null), 2.779412)).toBeLessThan(1e-5);
  });

  it('a man of 30 years and 70 kg, 65 at rest, has 343.85 W/m² at 130 (ISO 8996 from memory, computed)', () => {
    expect(apart(metabolicRate('man', 30, 70, 65, 130), 343.85)).toBeLessThan(0.1);
  });
});

describe('gas volumes', () => {
  it.each([
    [20, 1.102],
    [21, 1.096],
    [22, 1.091],
    [24, 1.08],
    [30, 1.045],
    [37, 1],
  ])('BTPS at %i °C is %f (20 to 22 °C seen in a public package, the rest computed)', (celsius, factor) => {
    expect(apart(btpsFactor(saturated(celsius)), factor)).toBeLessThan(6e-4);
  });

  it.each([
    [20, 0.91],
    [25, 0.888],
    [37, 0.826],
  ])('STPD at %i °C is %f (computed)', (celsius, factor) => {
    expect(apart(stpdFactor(saturated(celsius)), factor)).toBeLessThan(6e-4);
  });

  it('BTPS to STPD at 760 mmHg is 0.8261, BTPS at 22 °C and 740 mmHg 1.09203 (computed)', () => {
    expect(apart(btpsToStpd(760), 0.8261)).toBeLessThan(3e-4);
    expect(apart(btpsFactor(saturated(22, 740)), 1.09203)).toBeLessThan(3e-4);
  });

  it('2.00 L at 20 °C are 2.204 L in the lungs (computed)', () => {
    expect(apart(2 * btpsFactor(saturated(20)), 2.204)).toBeLessThan(1e-3);
  });

  it.each<[VapourFormula, number, number, string]>([
    ['buck-1981', 20, 23.3728, 'seen: a public package citing Buck 1981'],
    ['buck-1981', 25, 31.6703, 'the same'],
    ['buck-1981', 37, 62.7981, 'the same'],
    ['alduchov-eskridge', 20, 23.3344, 'seen: a public package, eq. 21'],
    ['magnus-wmo', 20, 23.326, 'from memory, computed'],
    ['iapws', 20, 23.3919, 'coefficients from memory, computed'],
    ['iapws', 37, 62.8238, 'coefficients from memory, computed'],
  ])('saturation by %s at %i °C is %f hPa (%s)', (formula, celsius, hectopascal) => {
    expect(apart(saturationPressure(celsius, formula), hectopascal)).toBeLessThan(1e-3);
  });
});

describe('breathing', () => {
  const sine = (perMinute: number, peak: number, interval: number, length: number) => {
    const seconds = Float64Array.from({ length: Math.round(length / interval) + 1 }, (_, index) => index * interval);
    const litresPerSecond = seconds.map((at) => peak * Math.sin((2 * Math.PI * perMinute * at) / 60));
    return { seconds, litresPerSecond };
  };

  it('25 breaths of 2.0 L, a sine with a peak of 157.0796 L/min, are 50 L/min (seen: EN 149 8.3.1 as quoted)', () => {
    const peak = (Math.PI * 50) / 60;
    expect(apart(60 * peak, 157.0796)).toBeLessThan(1e-3);
    const found = breathsFromFlow(sine(25, peak, 0.005, 61), body);
    const factor = btpsFactor(body);
    expect(apart(found.minuteLitres / factor, 50)).toBeLessThan(1e-3);
    expect(apart(found.tidalLitres / factor, 2)).toBeLessThan(1e-4);
    expect(apart(found.ratePerMinute, 25)).toBeLessThan(1e-6);
  });

  it('half a sine of 1 L/s and 2 s is 1.273240 L (computed; 201 points by trapezoids 1.273213)', () => {
    const found = breathsFromFlow(sine(15, 1, 0.01, 40), body);
    expect(apart(found.tidalLitres / btpsFactor(body), 1.27324)).toBeLessThan(5e-5);
  });
});
