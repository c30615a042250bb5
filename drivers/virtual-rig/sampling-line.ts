import { FirstOrderStage } from './first-order.ts';

/** Tanks in series that disperse the residence time; four give a Gamma distribution that begins 2 σ before its mean. */
export const tanksPerLine = 4;

export interface SamplingLineOptions {
  /** Mean residence time, dispersion included, s. At least twice `dispersionSeconds`. */
  readonly transitSeconds: number;
  /** Standard deviation of the residence time, s; 0 is plug flow. */
  readonly dispersionSeconds: number;
  /** Part of the aerosol that clings to the walls and follows with its own time constant; null for none. */
  readonly tail: { readonly share: number; readonly seconds: number } | null;
  readonly stepSeconds: number;
  readonly start: number;
}

/**
 * A tube: plug flow followed by tanks in series and, where wanted, a slow tail. The plug delay is exact for signals
 * that are constant over a grid step, whatever fraction of a step it is.
 */
export class SamplingLine {
  /** Mean concentration that left the line during the last step in which air moved. */
  output: number;
  readonly #ring: Float64Array;
  readonly #wholeSteps: number;
  readonly #fraction: number;
  readonly #tanks: FirstOrderStage[];
  readonly #tail: FirstOrderStage | null;
  readonly #tailShare: number;
  #head = 0;

  constructor(options: SamplingLineOptions) {
    const tankSeconds = options.dispersionSeconds / Math.sqrt(tanksPerLine);
    const plugSteps = Math.max(0, (options.transitSeconds - tanksPerLine * tankSeconds) / options.stepSeconds);
    this.#wholeSteps = Math.floor(plugSteps);
    this.#fraction = plugSteps - this.#wholeSteps;
    this.#ring = new Float64Array(this.#wholeSteps + 2).fill(options.start);
    this.#tanks = [];
    if (tankSeconds > 0) {
      for (let index = 0; index < tanksPerLine; index += 1) {
        this.#tanks.push(new FirstOrderStage(tankSeconds, options.stepSeconds, options.start));
      }
    }
    this.#tailShare = options.tail?.share ?? 0;
    this.#tail =
      options.tail === null ? null : new FirstOrderStage(options.tail.seconds, options.stepSeconds, options.start);
    this.output = options.start;
  }

  /** Air with this mean concentration enters for one step. Not calling it is air that stands still. */
  step(input: number): number {
    const ring = this.#ring;
    const length = ring.length;
    const head = this.#head;
    ring[head] = input;
    let newer = head - this.#wholeSteps;
    if (newer < 0) newer += length;
    let older = newer - 1;
    if (older < 0) older += length;
    this.#head = head + 1 === length ? 0 : head + 1;
    let signal = (1 - this.#fraction) * (ring[newer] as number) + this.#fraction * (ring[older] as number);
    for (let index = 0; index < this.#tanks.length; index += 1) {
      signal = (this.#tanks[index] as FirstOrderStage).step(signal);
    }
    if (this.#tail !== null) {
      signal = (1 - this.#tailShare) * signal + this.#tailShare * this.#tail.step(signal);
    }
    this.output = signal;
    return signal;
  }
}
