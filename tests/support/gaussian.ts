import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** Independent draws of the standard normal distribution from a seed. */
export function gaussianSource(seed: number): () => number {
  const generator = xoroshiro128plus(seed);
  return () => {
    const radius = Math.sqrt(-2 * Math.log(1 - uniformFloat64(generator)));
    return radius * Math.cos(2 * Math.PI * uniformFloat64(generator));
  };
}
