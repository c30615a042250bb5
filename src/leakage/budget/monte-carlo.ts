import type { RandomGenerator } from 'pure-rand/types/RandomGenerator';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { confidence } from './uncertainty.ts';
import type { LineFreedom } from './uncertainty.ts';
import type { BudgetLineName } from './line.ts';
import type { PartModel } from './part-model.ts';

/** A result as it scatters when every input is drawn. Percent of the challenge. */
export interface MonteCarlo {
  readonly draws: number;
  readonly seed: number;
  readonly meanPercent: number;
  readonly standardPercent: number;
  /** Probabilistically symmetric 95 % interval. */
  readonly lowPercent: number;
  readonly highPercent: number;
}

/** A window and its share in the result. */
export interface WeightedPart {
  readonly weight: number;
  readonly model: PartModel;
}

/** From this many degrees of freedom on a line is drawn as normal: its t is wider by less than 0.1 %. */
const normalFreedom = 1000;

/**
 * Propagates distributions instead of uncertainties (JCGM 101:2008): certificate values are drawn as normal, and what
 * was estimated from few differences as t, all inputs of a line with one common estimate of their scatter. The model
 * is the leakage itself, quotients and all, so what is not linear shows.
 * @param parts windows of the result; their weights add up to one. @param draws ≥ 1000. @param seed whole number.
 * @throws RangeError for fewer draws.
 */
export function drawResult(
  parts: readonly WeightedPart[],
  freedom: LineFreedom,
  draws: number,
  seed: number,
): MonteCarlo {
  if (!(draws >= 1000)) throw new RangeError('a 95 % interval needs at least 1000 draws');
  const random = new Draws(seed);
  const { inputs, prepared } = prepare(parts);
  const lines = [...new Set(inputs.map(({ line }) => line))];
  const few = lines.map((line) => (freedom[line] < normalFreedom ? freedom[line] : null));
  const lineOf = Uint8Array.from(inputs, ({ line }) => lines.indexOf(line));
  const standard = Float64Array.from(inputs, ({ standardUncertainty }) => standardUncertainty);
  const scale = new Float64Array(lines.length);
  const errors = new Float64Array(inputs.length);
  const results = new Float64Array(draws);
  for (let draw = 0; draw < draws; draw += 1) {
    for (let line = 0; line < lines.length; line += 1) {
      const degrees = few[line] as number | null;
      scale[line] = degrees === null ? 1 : Math.sqrt(degrees / (2 * random.gamma(degrees / 2)));
    }
    for (let index = 0; index < inputs.length; index += 1) {
      errors[index] = (standard[index] as number) * (scale[lineOf[index] as number] as number) * random.normal();
    }
    let result = 0;
    for (const part of prepared) result += leakageOf(part, errors);
    results[draw] = result;
  }
  return { draws, seed, ...summary(results) };
}

interface Input {
  readonly line: BudgetLineName;
  readonly standardUncertainty: number;
}

/** A window with its inputs by index. */
interface Prepared {
  readonly net: number;
  readonly spanNet: number;
  /** weight · scale. */
  readonly scale: number;
  readonly above: Float64Array;
  readonly aboveOf: Uint16Array;
  readonly below: Float64Array;
  readonly belowOf: Uint16Array;
  readonly values: Float64Array;
  readonly powers: Int8Array;
  readonly factorOf: Uint16Array;
}

function prepare(parts: readonly WeightedPart[]): { readonly inputs: readonly Input[]; readonly prepared: Prepared[] } {
  const numbers = new Map<string, number>();
  const inputs: Input[] = [];
  const numberOf = ({ input, line, standardUncertainty }: Input & { readonly input: string }): number => {
    const known = numbers.get(input);
    if (known !== undefined) return known;
    numbers.set(input, inputs.length);
    inputs.push({ line, standardUncertainty });
    return inputs.length - 1;
  };
  const doubtful = <T extends Input>(terms: readonly T[]): readonly T[] =>
    terms.filter(({ standardUncertainty }) => standardUncertainty > 0);
  const prepared = parts.map(({ model, weight }): Prepared => {
    const above = doubtful(model.above);
    const below = doubtful(model.below);
    const factors = doubtful(model.factors);
    return {
      net: model.net,
      spanNet: model.spanNet,
      scale: weight * model.scale,
      above: Float64Array.from(above, ({ coefficient }) => coefficient),
      aboveOf: Uint16Array.from(above, numberOf),
      below: Float64Array.from(below, ({ coefficient }) => coefficient),
      belowOf: Uint16Array.from(below, numberOf),
      values: Float64Array.from(factors, ({ value }) => value),
      powers: Int8Array.from(factors, ({ power }) => power),
      factorOf: Uint16Array.from(factors, numberOf),
    };
  });
  return { inputs, prepared };
}

function leakageOf(part: Prepared, errors: Float64Array): number {
  const { above, aboveOf, below, belowOf, factorOf, net, powers, scale, spanNet, values } = part;
  let numerator = net;
  for (let index = 0; index < above.length; index += 1) {
    numerator += (above[index] as number) * (errors[aboveOf[index] as number] as number);
  }
  let denominator = spanNet;
  for (let index = 0; index < below.length; index += 1) {
    denominator += (below[index] as number) * (errors[belowOf[index] as number] as number);
  }
  let value = (numerator * scale * spanNet) / denominator;
  for (let index = 0; index < values.length; index += 1) {
    const factor = 1 + (errors[factorOf[index] as number] as number) / (values[index] as number);
    value = (powers[index] as number) > 0 ? value * factor : value / factor;
  }
  return value;
}

function summary(results: Float64Array): Omit<MonteCarlo, 'draws' | 'seed'> {
  let sum = 0;
  for (const result of results) sum += result;
  const meanPercent = sum / results.length;
  let squares = 0;
  for (const result of results) squares += (result - meanPercent) ** 2;
  results.sort();
  // JCGM 101, 7.7.2: of M sorted draws the ends of the symmetric interval are those numbered r and r + p·M.
  const outside = (1 - confidence) / 2;
  const last = results.length - 1;
  const at = (share: number): number => results[Math.min(last, Math.round(share * results.length))] as number;
  return {
    meanPercent,
    standardPercent: Math.sqrt(squares / (results.length - 1)),
    lowPercent: at(outside),
    highPercent: at(1 - outside),
  };
}

/** Random numbers for inputs, from a library's generator. */
class Draws {
  readonly #generator: RandomGenerator;
  #spare = Number.NaN;

  constructor(seed: number) {
    this.#generator = xoroshiro128plus(seed);
  }

  /** Uniform in (0, 1). */
  uniform(): number {
    return ((this.#generator.next() >>> 0) + 0.5) / 4_294_967_296;
  }

  /** Standard normal by the polar method (Marsaglia and Bray 1964). */
  normal(): number {
    if (!Number.isNaN(this.#spare)) {
      const spare = this.#spare;
      this.#spare = Number.NaN;
      return spare;
    }
    for (;;) {
      const x = 2 * this.uniform() - 1;
      const y = 2 * this.uniform() - 1;
      const square = x * x + y * y;
      if (square >= 1 || square === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(square)) / square);
      this.#spare = y * factor;
      return x * factor;
    }
  }

  /** Gamma of scale 1 (Marsaglia and Tsang 2000). @param shape > 0. */
  gamma(shape: number): number {
    if (shape < 1) return this.gamma(shape + 1) * this.uniform() ** (1 / shape);
    const d = shape - 1 / 3;
    const c = 1 / Math.sqrt(9 * d);
    for (;;) {
      const x = this.normal();
      const v = (1 + c * x) ** 3;
      if (v > 0 && Math.log(this.uniform()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
    }
  }
}
