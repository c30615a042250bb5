import type { RandomGenerator } from 'pure-rand/types/RandomGenerator';
import { xoroshiro128plusFromState } from 'pure-rand/generator/xoroshiro128plus';

const twoToThe32 = 4_294_967_296;

/** Finaliser of the 32-bit Murmur3 hash: every input bit reaches every output bit. */
function mixed(word: number): number {
  let value = word | 0;
  value = Math.imul(value ^ (value >>> 16), 0x85ebca6b);
  value = Math.imul(value ^ (value >>> 13), 0xc2b2ae35);
  return value ^ (value >>> 16);
}

/**
 * A stream of random numbers of its own for one subsystem. Streams of one seed are unrelated to each other, so a
 * part that draws more, less or not at all leaves the others as they were.
 */
export class RandomStream {
  readonly #generator: RandomGenerator;

  /** @param seed whole number. @param subsystem name of the stream: the same pair gives the same numbers. */
  constructor(seed: number, subsystem: string) {
    let low = mixed(seed % twoToThe32);
    let high = mixed(Math.floor(seed / twoToThe32) ^ 0x5bd1e995);
    for (let index = 0; index < subsystem.length; index += 1) {
      low = mixed(low ^ subsystem.charCodeAt(index));
      high = mixed((high + Math.imul(low, 0x9e3779b1)) | 0);
    }
    const state = [low, high, mixed(low ^ 0x27d4eb2f), mixed(high ^ 0x165667b1) | 1];
    this.#generator = xoroshiro128plusFromState(state);
    for (let warm = 0; warm < 8; warm += 1) this.#generator.next();
  }

  /** Uniform in [0, 1), a multiple of 2⁻³². One draw. */
  uniform(): number {
    return (this.#generator.next() >>> 0) / twoToThe32;
  }

  /** Standard normal (Box and Muller 1958). Always two draws, so that the count never depends on the values. */
  normal(): number {
    const radius = Math.sqrt(-2 * Math.log(1 - this.uniform()));
    return radius * Math.cos(2 * Math.PI * this.uniform());
  }
}
