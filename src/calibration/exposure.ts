/** A limit of exposure, with where it comes from. */
export interface ExposureLimit {
  readonly name: string;
  /** mg/m³. */
  readonly limit: number;
  /** The mean over this time is held against it, s; null for a concentration that must not be met at all. */
  readonly averagedOverSeconds: number | null;
  readonly source: string;
}

/** For oil mist, as public pages give them. A laboratory holds its own limits against what the law says where it is. */
export const oilMistLimits: readonly ExposureLimit[] = [
  { name: 'PEL', limit: 5, averagedOverSeconds: 28_800, source: 'OSHA, chemical sampling page' },
  { name: 'REL', limit: 5, averagedOverSeconds: 36_000, source: 'NIOSH, pocket guide' },
  { name: 'STEL', limit: 10, averagedOverSeconds: 900, source: 'NIOSH, pocket guide' },
  { name: 'IDLH', limit: 2500, averagedOverSeconds: null, source: 'NIOSH, pocket guide' },
];

/**
 * Time-weighted mean of what a person breathes, mg/m³, over a time of which the rest is clean.
 * @param stays concentration and length of each stay. @param overSeconds 28 800 for a shift of eight hours.
 * @throws RangeError for a negative or endless concentration or time, or stays longer than the time averaged over.
 */
export function timeWeightedExposure(
  stays: readonly { readonly concentration: number; readonly seconds: number }[],
  overSeconds: number,
): number {
  if (!(overSeconds > 0 && overSeconds < Infinity)) throw new RangeError('the time averaged over must be above zero');
  let dose = 0;
  let seconds = 0;
  for (const stay of stays) {
    if (!(stay.concentration >= 0 && stay.concentration < Infinity) || !(stay.seconds >= 0)) {
      throw new RangeError('a stay needs a concentration and a time that are not negative');
    }
    dose += stay.concentration * stay.seconds;
    seconds += stay.seconds;
  }
  if (seconds > overSeconds) {
    throw new RangeError(`the stays last ${seconds} s, longer than the ${overSeconds} s they are averaged over`);
  }
  return dose / overSeconds;
}

/**
 * The largest mean over any stretch of a limit's time, mg/m³: what a short-term limit is held against. Stays follow one
 * another without a break; before and after them the air is clean.
 * @throws RangeError as `timeWeightedExposure`, but stays may be of any length.
 */
export function worstExposure(
  stays: readonly { readonly concentration: number; readonly seconds: number }[],
  overSeconds: number,
): number {
  if (!(overSeconds > 0 && overSeconds < Infinity)) throw new RangeError('the time averaged over must be above zero');
  const edges = [0];
  for (const { concentration, seconds } of stays) {
    if (!(concentration >= 0 && concentration < Infinity) || !(seconds >= 0 && seconds < Infinity)) {
      throw new RangeError('a stay needs a concentration and a time that are not negative');
    }
    edges.push((edges.at(-1) ?? 0) + seconds);
  }
  // The mean is piecewise linear in where the stretch begins, so it is largest where one of its ends meets an edge.
  const beginnings = edges.flatMap((edge) => [edge, edge - overSeconds]);
  const dose = (from: number): number =>
    stays.reduce((sum, { concentration }, index) => {
      const inside = Math.min(edges[index + 1] as number, from + overSeconds) - Math.max(edges[index] as number, from);
      return sum + concentration * Math.max(0, inside);
    }, 0);
  return Math.max(...beginnings.map(dose)) / overSeconds;
}
