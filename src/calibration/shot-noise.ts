/**
 * White noise of single readings, as a variance, from their second differences: Σ (y₋ − 2y + y₊)² / (6 n). Everything
 * that moves slowly against the interval between readings drops out: drift, the photometer's decay, a challenge that
 * wanders. Readings must be evenly spaced.
 * @param series stretches of readings; differences are formed inside a stretch only.
 * @returns in the unit of the readings, squared; null where no stretch has five readings.
 */
export function whiteVariance(series: readonly Float64Array[]): number | null {
  let squares = 0;
  let count = 0;
  for (const values of series) {
    if (values.length < 5) continue;
    for (let index = 1; index + 1 < values.length; index += 1) {
      const before = values[index - 1] as number;
      const after = values[index + 1] as number;
      squares += (before - 2 * (values[index] as number) + after) ** 2;
      count += 1;
    }
  }
  return count === 0 ? null : squares / (6 * count);
}

/**
 * Shot noise: the variance that a reading gains for each unit of net reading. Particles are counted by chance, so
 * that variance grows with the concentration. It is what readings of the challenge scatter more than filtered air,
 * divided by their net level.
 * @param challenge, air as `whiteVariance` takes them. @param netLevel mean net reading of `challenge`, > 0.
 * @returns in the unit of the readings; 0 where the challenge scatters no more than air, or nothing is known.
 */
export function shotVariancePerReading(
  challenge: readonly Float64Array[],
  air: readonly Float64Array[],
  netLevel: number,
): number {
  const atChallenge = whiteVariance(challenge);
  const atZero = whiteVariance(air);
  if (atChallenge === null || atZero === null || !(netLevel > 0)) return 0;
  return Math.max(0, atChallenge - atZero) / netLevel;
}
