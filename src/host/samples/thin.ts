/** Samples of one stream, both arrays of equal length, times ascending, µs. */
export interface ThinnedSamples {
  readonly times: Float64Array;
  readonly values: Float64Array;
}

/**
 * At most `most` (≥ 2) of these samples. Where there are more, each of equal stretches of samples is represented by
 * its lowest and its highest one, in their order, so that no peak is lost. A value that is no number represents its
 * stretch only where nothing else does.
 */
export function thin(samples: ThinnedSamples, most: number): ThinnedSamples {
  const { times, values } = samples;
  const count = values.length;
  if (count <= most) return samples;
  const stretches = Math.max(1, Math.floor(most / 2));
  const keptTimes = new Float64Array(stretches * 2);
  const keptValues = new Float64Array(stretches * 2);
  let kept = 0;
  const keep = (index: number): void => {
    keptTimes[kept] = times[index] as number;
    keptValues[kept] = values[index] as number;
    kept += 1;
  };
  for (let stretch = 0; stretch < stretches; stretch += 1) {
    const first = Math.floor((stretch * count) / stretches);
    const end = Math.floor(((stretch + 1) * count) / stretches);
    let lowest = first;
    let highest = first;
    for (let index = first; index < end; index += 1) {
      const value = values[index] as number;
      if (!(value >= (values[lowest] as number))) lowest = Number.isNaN(value) ? lowest : index;
      if (!(value <= (values[highest] as number))) highest = Number.isNaN(value) ? highest : index;
    }
    keep(Math.min(lowest, highest));
    if (lowest !== highest) keep(Math.max(lowest, highest));
  }
  return { times: keptTimes.subarray(0, kept), values: keptValues.subarray(0, kept) };
}
