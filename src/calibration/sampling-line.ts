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
