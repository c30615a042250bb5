import { requireWithin } from './validity.ts';

/** Volumes of air, and the water in it. Temperatures in °C, vapour pressures in hPa, barometric ones in mmHg. */
const hectopascalPerMillimetre = 1.333223684;
/** Saturation at 37 °C, mmHg, as the usual tables have it. */
const bodyVapour = 47.07;

export type VapourFormula = 'iapws' | 'buck-1981' | 'alduchov-eskridge' | 'magnus-wmo';

const formulaName = 'the saturation vapour pressure over water';

/**
 * Saturation vapour pressure over water, hPa. `iapws`: Wagner and Pruss 1993, coefficients from memory; `buck-1981`:
 * Buck, J. Appl. Meteorol. 20 (1981) 1527, eq. 3; `alduchov-eskridge`: their eq. 21 (1996); `magnus-wmo`: from memory.
 * @throws ChambersideError `outside-validity` outside 0 to 60 °C.
 */
export function saturationPressure(celsius: number, formula: VapourFormula = 'iapws'): number {
  const range = { name: 'the temperature', unit: '°C', lowest: 0, highest: 60 };
  requireWithin(celsius, range, formulaName, 'Check the unit of the temperature.');
  switch (formula) {
    case 'buck-1981':
      return 6.1121 * Math.exp((17.502 * celsius) / (240.97 + celsius));
    case 'alduchov-eskridge':
      return 6.1094 * Math.exp((17.625 * celsius) / (243.04 + celsius));
    case 'magnus-wmo':
      return 6.112 * Math.exp((17.62 * celsius) / (243.12 + celsius));
    case 'iapws': {
      const critical = 647.096;
      const kelvin = celsius + 273.15;
      const distance = 1 - kelvin / critical;
      const sum =
        -7.85951783 * distance +
        1.84408259 * distance ** 1.5 -
        11.7866497 * distance ** 3 +
        22.6807411 * distance ** 3.5 -
        15.9618719 * distance ** 4 +
        1.80122502 * distance ** 7.5;
      return 220_640 * Math.exp((critical / kelvin) * sum);
    }
  }
}

/** Air as it was measured. */
export interface MeasuredAir {
  readonly celsius: number;
  /** Barometric pressure, mmHg. */
  readonly pressure: number;
  /** 1 for saturated air. */
  readonly relativeHumidity: number;
}

/**
 * What a measured volume is multiplied by to be the volume in the lungs (37 °C, saturated).
 * From memory; table values at 20, 21 and 22 °C seen.
 * @throws ChambersideError `outside-validity` outside 0 to 45 °C, 500 to 800 mmHg or a humidity of 0 to 1.
 */
export function btpsFactor(air: MeasuredAir): number {
  return ((air.pressure - vapour(air)) / (air.pressure - bodyVapour)) * (310.15 / (273.15 + air.celsius));
}

/** The same for dry air at 0 °C and 760 mmHg. @throws ChambersideError as `btpsFactor`. */
export function stpdFactor(air: MeasuredAir): number {
  return ((air.pressure - vapour(air)) / 760) * (273.15 / (273.15 + air.celsius));
}

/** From the volume in the lungs to dry air at 0 °C and 760 mmHg. @throws ChambersideError as `btpsFactor`. */
export function btpsToStpd(pressure: number): number {
  requireAir({ celsius: 37, pressure, relativeHumidity: 1 });
  return ((pressure - bodyVapour) / 760) * (273.15 / 310.15);
}

/** Vapour pressure of the air, mmHg. */
function vapour(air: MeasuredAir): number {
  requireAir(air);
  return (air.relativeHumidity * saturationPressure(air.celsius)) / hectopascalPerMillimetre;
}

function requireAir({ celsius, pressure, relativeHumidity }: MeasuredAir): void {
  const formula = 'the conversion of gas volumes';
  const ranges = [
    [celsius, { name: 'the temperature', unit: '°C', lowest: 0, highest: 45 }],
    [pressure, { name: 'the barometric pressure', unit: 'mmHg', lowest: 500, highest: 800 }],
    [relativeHumidity, { name: 'the relative humidity', unit: '', lowest: 0, highest: 1 }],
  ] as const;
  for (const [value, range] of ranges) requireWithin(value, range, formula, 'Check the value and its unit.');
}
