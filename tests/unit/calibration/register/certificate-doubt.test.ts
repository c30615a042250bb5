import { describe, expect, it } from 'vitest';
import { certificateDoubt } from '../../../../src/calibration/register/certificate-doubt.ts';

/** JCGM 100:2008, table G.2: t_p(ν), to two decimals; from memory. */
const tableG2 = [
  { freedom: 1, t95: 12.71, t9545: 13.97 },
  { freedom: 4, t95: 2.78, t9545: 2.87 },
  { freedom: 10, t95: 2.23, t9545: 2.28 },
  { freedom: 20, t95: 2.09, t9545: 2.13 },
  { freedom: 50, t95: 2.01, t9545: 2.05 },
];

describe('the doubt of a certificate', () => {
  it('is U/k: examples of JCGM 100:2008, 4.3.3 and 4.3.4', () => {
    // A mass standard, 240 µg at three standard deviations: u is 80 µg. From memory.
    expect(certificateDoubt({ expandedUncertainty: 240, coverageFactor: 3 })).toEqual({
      standardUncertainty: 80,
      degreesOfFreedom: null,
    });
    // A resistor, 129 µΩ at 99 percent, which is 2.58 standard deviations: u is 50 µΩ. From memory.
    const resistor = certificateDoubt({ expandedUncertainty: 129, coverageFactor: 2.58, coveragePercent: 99 });
    expect(resistor.standardUncertainty).toBeCloseTo(50, 12);
    expect(resistor.degreesOfFreedom).toBeNull();
  });

  it.each(tableG2)('with k of table G.2 has about $freedom degrees of freedom', ({ freedom, t95, t9545 }) => {
    for (const [coveragePercent, coverageFactor] of [
      [95, t95],
      [95.45, t9545],
    ] as const) {
      const { degreesOfFreedom, standardUncertainty } = certificateDoubt({
        ...{ expandedUncertainty: 1, coverageFactor, coveragePercent },
      });
      expect(standardUncertainty).toBe(1 / coverageFactor);
      // k has two decimals; at ν = 50 one of them is six degrees of freedom.
      expect(Math.abs((degreesOfFreedom ?? Infinity) / freedom - 1)).toBeLessThan(0.12);
    }
  });

  it('has none to speak of with the normal factors, however they are rounded, and with no probability stated', () => {
    const none = [
      [2, 95.45],
      [1.96, 95],
      [2, 95],
      [2.58, 99],
      [1.645, 90],
    ] as const;
    const found = none.map(([coverageFactor, coveragePercent]) =>
      certificateDoubt({ expandedUncertainty: 1, coverageFactor, coveragePercent }),
    );
    // k = 2 beside 95 % is how most certificates are printed: by the letter it is t of 61 degrees of freedom.
    expect(found.map(({ degreesOfFreedom }) => degreesOfFreedom === null)).toEqual([true, true, false, true, true]);
    expect(found[2]?.degreesOfFreedom).toBeGreaterThan(50);
    expect(certificateDoubt({ expandedUncertainty: 1, coverageFactor: 13 }).degreesOfFreedom).toBeNull();
  });
});
