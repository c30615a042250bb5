/** Air at 20 °C and 101.3 kPa: kg/m³ and Pa·s. */
const airDensity = 1.204;
const airViscosity = 1.81e-5;

/**
 * Inner volume of a round tube, mL.
 * @param lengthMetres, boreMillimetres both greater than zero. @throws RangeError otherwise.
 */
export function tubeMillilitres(lengthMetres: number, boreMillimetres: number): number {
  if (!(lengthMetres > 0) || !(boreMillimetres > 0)) throw new RangeError('length and bore must be greater than zero');
  // π d² L / 4 with d in mm and L in m is in mL already: 1 mm² · 1 m = 1 mL.
  return (Math.PI * boreMillimetres * boreMillimetres * lengthMetres) / 4;
}

/**
 * Plug-flow transit V/Q, s. Laminar flow without radial mixing has its first front after half of it.
 * @param litresPerMinute flow, greater than zero. @throws RangeError otherwise.
 */
export function plugTransitSeconds(lengthMetres: number, boreMillimetres: number, litresPerMinute: number): number {
  if (!(litresPerMinute > 0)) throw new RangeError('the flow must be greater than zero');
  return (tubeMillilitres(lengthMetres, boreMillimetres) / (litresPerMinute * 1000)) * 60;
}

/**
 * Reynolds number ρ U d/µ of air at 20 °C and 101.3 kPa in a round tube. Below 2000 the flow is laminar.
 * @param boreMillimetres, litresPerMinute both greater than zero. @throws RangeError otherwise.
 */
export function reynoldsNumber(boreMillimetres: number, litresPerMinute: number): number {
  if (!(boreMillimetres > 0) || !(litresPerMinute > 0)) throw new RangeError('bore and flow must be greater than zero');
  const metresPerSecond = litresPerMinute / 60_000 / ((Math.PI / 4) * (boreMillimetres / 1000) ** 2);
  return (airDensity * metresPerSecond * (boreMillimetres / 1000)) / airViscosity;
}
