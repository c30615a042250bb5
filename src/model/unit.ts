/**
 * Units the program knows. A quantity never travels without one: streams name theirs, settings carry it in
 * the field's name. Conversion is by one factor to the unit's base, so that an auditor can check the table by eye.
 */
export const units = {
  'mg/m3': { quantity: 'mass concentration', symbol: 'mg/m³', toBase: 1e-6 },
  'ug/m3': { quantity: 'mass concentration', symbol: 'µg/m³', toBase: 1e-9 },
  'g/m3': { quantity: 'mass concentration', symbol: 'g/m³', toBase: 1e-3 },
  'per-cm3': { quantity: 'number concentration', symbol: '1/cm³', toBase: 1e6 },
  V: { quantity: 'voltage', symbol: 'V', toBase: 1 },
  mV: { quantity: 'voltage', symbol: 'mV', toBase: 1e-3 },
  percent: { quantity: 'ratio', symbol: '%', toBase: 1e-2 },
  ppm: { quantity: 'ratio', symbol: 'ppm', toBase: 1e-6 },
  one: { quantity: 'ratio', symbol: '', toBase: 1 },
  'per-minute': { quantity: 'frequency', symbol: '/min', toBase: 1 / 60 },
  s: { quantity: 'time', symbol: 's', toBase: 1 },
  ms: { quantity: 'time', symbol: 'ms', toBase: 1e-3 },
  us: { quantity: 'time', symbol: 'µs', toBase: 1e-6 },
  kJ: { quantity: 'energy', symbol: 'kJ', toBase: 1e3 },
  'L/min': { quantity: 'volume flow', symbol: 'L/min', toBase: 1 / 60_000 },
  'L/s': { quantity: 'volume flow', symbol: 'L/s', toBase: 1e-3 },
  L: { quantity: 'volume', symbol: 'L', toBase: 1e-3 },
  mL: { quantity: 'volume', symbol: 'mL', toBase: 1e-6 },
  degC: { quantity: 'temperature', symbol: '°C', toBase: 1 },
  Pa: { quantity: 'pressure', symbol: 'Pa', toBase: 1 },
  hPa: { quantity: 'pressure', symbol: 'hPa', toBase: 1e2 },
  kPa: { quantity: 'pressure', symbol: 'kPa', toBase: 1e3 },
  'km/h': { quantity: 'speed', symbol: 'km/h', toBase: 1 / 3.6 },
  'm/s': { quantity: 'speed', symbol: 'm/s', toBase: 1 },
  W: { quantity: 'power', symbol: 'W', toBase: 1 },
} as const;

/** Name of a unit in the table above. */
export type Unit = keyof typeof units;

/** All unit names, in table order. */
export const unitNames = Object.keys(units) as [Unit, ...Unit[]];

/**
 * A value in one unit expressed in another of the same quantity.
 * @throws RangeError when the two units measure different quantities.
 */
export function convert(value: number, from: Unit, to: Unit): number {
  if (from === to) return value;
  const source = units[from];
  const target = units[to];
  if (source.quantity !== target.quantity) {
    throw new RangeError(
      `${from} is a ${source.quantity} and cannot be expressed in ${to}, a ${target.quantity}. ` +
        'Give both in the same quantity.',
    );
  }
  return (value * source.toBase) / target.toBase;
}
