import type { RandomStream } from './random.ts';
import { FirstOrderNoise } from './first-order.ts';
import type { Scenario } from './scenario.ts';

/**
 * Challenge aerosol in the chamber: the well-mixed mass balance V dC/dt = G − Q·C, C at the reference point.
 * The generator output G carries first-order noise and a slow linear drift; an open door adds to Q.
 */
export class Chamber {
  /** At the reference point, at the end of the last step, in the photometer's unit. */
  concentration: number;
  generatorRuns = true;
  readonly #parameters: Scenario['chamber'];
  readonly #steadyConcentration: number;
  readonly #stepSeconds: number;
  readonly #random: RandomStream;
  readonly #fluctuation: FirstOrderNoise;
  #doorSecondsLeft = 0;

  /**
   * @param steadyConcentration that the generator's mean output keeps up with the door closed.
   * @param noiseIntervalSeconds how often `renewNoise` will be called.
   */
  constructor(
    parameters: Scenario['chamber'],
    steadyConcentration: number,
    stepSeconds: number,
    noiseIntervalSeconds: number,
    random: RandomStream,
  ) {
    this.#parameters = parameters;
    this.#steadyConcentration = steadyConcentration;
    this.#stepSeconds = stepSeconds;
    this.#random = random;
    this.#fluctuation = new FirstOrderNoise(
      parameters.generatorCorrelationSeconds,
      noiseIntervalSeconds,
      random.normal(),
    );
    this.concentration = (steadyConcentration * parameters.startPercent) / 100;
  }

  openDoor(): void {
    this.#doorSecondsLeft = this.#parameters.door.openSeconds;
  }

  get doorIsOpen(): boolean {
    return this.#doorSecondsLeft > this.#stepSeconds / 2;
  }

  renewNoise(): void {
    this.#fluctuation.step(this.#random.normal());
  }

  /** One grid step that begins `elapsedSeconds` after the start. @returns mean concentration over the step. */
  step(elapsedSeconds: number): number {
    const parameters = this.#parameters;
    const closedRate = 1 / parameters.exchangeSeconds;
    let rate = closedRate;
    if (this.doorIsOpen) {
      rate += parameters.door.exchangePerSecond;
      this.#doorSecondsLeft -= this.#stepSeconds;
    }
    const fluctuation = 1 + (parameters.generatorFluctuationPercent / 100) * this.#fluctuation.value;
    const drift = 1 + (parameters.driftPercentPerHour / 100) * (elapsedSeconds / 3600);
    const output = this.generatorRuns ? Math.max(0, fluctuation * drift) : 0;
    const target = (this.#steadyConcentration * output * closedRate) / rate;
    const steps = rate * this.#stepSeconds;
    const loss = -Math.expm1(-steps);
    const distance = this.concentration - target;
    this.concentration = target + distance * (1 - loss);
    return target + (distance * loss) / steps;
  }
}
