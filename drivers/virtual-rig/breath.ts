import type { RandomStream } from './random.ts';
import type { Scenario } from './scenario.ts';

/** Work that makes a breath as frequent and as deep again, W (about; invented for the virtual subject). */
const doublingWatts = 120;

/**
 * How the virtual subject breathes: half a sine in, half a sine out, each breath a little different. A breath is
 * decided when it begins; work makes the next ones quicker and deeper.
 */
export class Breath {
  /** Share of the last step during which air went in, 0 to 1. */
  inspiredShare = 0;
  /** At the end of the last step, into the subject positive, L/min. */
  flowLitresPerMinute = 0;
  readonly #parameters: NonNullable<Scenario['subject']['breathing']>;
  readonly #restPerMinute: number;
  readonly #stepSeconds: number;
  readonly #random: RandomStream;
  #watts = 0;
  #seconds = 0;
  #inSeconds = 0;
  #outSeconds = 0;
  #litres = 0;

  constructor(
    subject: Scenario['subject'],
    parameters: NonNullable<Scenario['subject']['breathing']>,
    random: RandomStream,
    stepSeconds: number,
  ) {
    this.#parameters = parameters;
    this.#restPerMinute = subject.breathsPerMinute;
    this.#stepSeconds = stepSeconds;
    this.#random = random;
    this.#begin();
  }

  /** What the subject works against, W. */
  work(watts: number): void {
    this.#watts = watts;
  }

  step(): void {
    const from = this.#seconds;
    this.#seconds += this.#stepSeconds;
    this.inspiredShare = Math.max(0, Math.min(this.#inSeconds, this.#seconds) - from) / this.#stepSeconds;
    const over = this.#seconds - (this.#inSeconds + this.#outSeconds);
    if (over >= 0) {
      this.#begin();
      this.#seconds = over;
      this.inspiredShare += over / this.#stepSeconds;
    }
    const inward = this.#seconds < this.#inSeconds;
    const into = inward ? this.#seconds / this.#inSeconds : (this.#seconds - this.#inSeconds) / this.#outSeconds;
    const length = inward ? this.#inSeconds : -this.#outSeconds;
    // The volume under half a sine of height q and length t is 2 q t / π.
    this.flowLitresPerMinute = ((60 * Math.PI * this.#litres) / (2 * length)) * Math.sin(Math.PI * into);
  }

  #begin(): void {
    const { inspiredPercent, tidalLitres, variabilityPercent } = this.#parameters;
    const varied = (): number => Math.max(0.5, 1 + (variabilityPercent / 100) * this.#random.normal());
    const harder = Math.sqrt(1 + this.#watts / doublingWatts);
    const seconds = (60 / (this.#restPerMinute * harder)) * varied();
    const share = Math.min(0.7, Math.max(0.2, (inspiredPercent / 100) * varied()));
    this.#inSeconds = share * seconds;
    this.#outSeconds = seconds - this.#inSeconds;
    this.#litres = tidalLitres * harder * varied();
  }
}
