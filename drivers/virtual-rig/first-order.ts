/**
 * One well-mixed volume, or anything else that follows its input exponentially. Signals inside the rig are the
 * *means* over a grid step, and every stage is solved exactly for an input that is constant over the step. So no
 * stage adds the half step that comparing samples at one end of a step would, and integrals over time are kept.
 */
export class FirstOrderStage {
  /** Value at the end of the last step. */
  value: number;
  readonly #keep: number;
  readonly #meanKeep: number;

  /** @param timeConstantSeconds 0 passes the input on unchanged. @param stepSeconds the grid. */
  constructor(timeConstantSeconds: number, stepSeconds: number, start: number) {
    this.value = start;
    if (timeConstantSeconds > 0) {
      const steps = stepSeconds / timeConstantSeconds;
      this.#keep = Math.exp(-steps);
      this.#meanKeep = -Math.expm1(-steps) / steps;
    } else {
      this.#keep = 0;
      this.#meanKeep = 0;
    }
  }

  /** Follows one step of an input with this mean. @returns the mean of its own value over the step. */
  step(input: number): number {
    const distance = this.value - input;
    this.value = input + distance * this.#keep;
    return input + distance * this.#meanKeep;
  }
}

/** First-order noise (Ornstein–Uhlenbeck) with variance 1, sampled on a fixed interval; one normal a step. */
export class FirstOrderNoise {
  value: number;
  readonly #keep: number;
  readonly #renew: number;

  constructor(correlationSeconds: number, intervalSeconds: number, start: number) {
    this.value = start;
    this.#keep = Math.exp(-intervalSeconds / correlationSeconds);
    this.#renew = Math.sqrt(1 - this.#keep * this.#keep);
  }

  step(normal: number): number {
    this.value = this.#keep * this.value + this.#renew * normal;
    return this.value;
  }
}
