import { FirstOrderStage } from './first-order.ts';
import { RandomStream } from './random.ts';
import type { Drift, Scenario } from './scenario.ts';

const referenceRate = 20;

/** Drift of zero or span: straight line, smooth sine of random phase, random walk. */
class DriftProcess {
  readonly #drift: Drift;
  readonly #random: RandomStream;
  readonly #angularPerHour: number;
  readonly #phase: number;
  readonly #walkStep: number;
  #walk = 0;

  constructor(drift: Drift, intervalSeconds: number, random: RandomStream) {
    this.#drift = drift;
    this.#random = random;
    this.#angularPerHour = (2 * Math.PI * 60) / drift.smoothPeriodMinutes;
    this.#phase = 2 * Math.PI * random.uniform();
    this.#walkStep = drift.walkPercentPerRootHour * Math.sqrt(intervalSeconds / 3600);
  }

  renew(): void {
    this.#walk += this.#walkStep * this.#random.normal();
  }

  /** Percent, since the start. */
  at(elapsedSeconds: number): number {
    const hours = elapsedSeconds / 3600;
    const drift = this.#drift;
    const amplitude = drift.smoothPercentPerHour / this.#angularPerHour;
    const sine = Math.sin(this.#angularPerHour * hours + this.#phase) - Math.sin(this.#phase);
    return drift.linearPercentPerHour * hours + amplitude * sine + this.#walk;
  }
}

/**
 * The photometer's optics: first-order response, stray light, span, drifts, noise, saturation, quantisation. Noise
 * belongs to slots of the output interval, counted from the start, so it does not depend on who reads when.
 */
export class Optics {
  readonly #parameters: Scenario['photometer'];
  readonly #nominal: number;
  readonly #saturation: number;
  readonly #timeConstantSeconds: number;
  readonly #response: FirstOrderStage;
  readonly #zeroDrift: DriftProcess;
  readonly #spanDrift: DriftProcess;
  readonly #noiseRandom: RandomStream;
  readonly #rate: number;
  #input: number;
  #normal: number;
  #zeroJump = 0;
  #spanJump = 1;

  constructor(
    scenario: Scenario,
    timeConstantSeconds: number,
    seed: number,
    salt: string,
    stepSeconds: number,
    noiseIntervalSeconds: number,
    start: number,
  ) {
    const photometer = scenario.photometer;
    this.#parameters = photometer;
    this.#nominal = scenario.rig.challenge.nominal;
    this.#saturation = scenario.rig.saturation;
    this.#timeConstantSeconds = timeConstantSeconds;
    this.#response = new FirstOrderStage(timeConstantSeconds, stepSeconds, start);
    this.#input = start;
    this.#zeroDrift = new DriftProcess(
      photometer.zeroDrift,
      noiseIntervalSeconds,
      new RandomStream(seed, `zero drift${salt}`),
    );
    this.#spanDrift = new DriftProcess(
      photometer.spanDrift,
      noiseIntervalSeconds,
      new RandomStream(seed, `span drift${salt}`),
    );
    this.#noiseRandom = new RandomStream(seed, `readings${salt}`);
    this.#rate = 1000 / photometer.intervalMilliseconds;
    this.#normal = this.#noiseRandom.normal();
  }

  /** A new slot of the output interval begins. */
  renewReadingNoise(): void {
    this.#normal = this.#noiseRandom.normal();
  }

  renewNoise(): void {
    this.#zeroDrift.renew();
    this.#spanDrift.renew();
  }

  jumpZero(percentOfChallenge: number): void {
    this.#zeroJump += (percentOfChallenge / 100) * this.#nominal;
  }

  jumpSpan(percent: number): void {
    this.#spanJump *= 1 + percent / 100;
  }

  step(input: number): void {
    this.#input = input;
    this.#response.step(input);
  }

  /** What the optics would show without zero, span and noise at the end of the last step. */
  get response(): number {
    return this.#response.value;
  }

  /** @param beyondSeconds how long after the last step, less than one. @param elapsedSeconds since the start. */
  read(beyondSeconds: number, elapsedSeconds: number): number {
    const photometer = this.#parameters;
    const keep = this.#timeConstantSeconds > 0 ? Math.exp(-beyondSeconds / this.#timeConstantSeconds) : 0;
    const value = this.#response.value;
    const signal = beyondSeconds === 0 ? value : this.#input + (value - this.#input) * keep;
    const zero = photometer.zeroReading + (this.#zeroDrift.at(elapsedSeconds) / 100) * this.#nominal + this.#zeroJump;
    const span = photometer.span * (1 + this.#spanDrift.at(elapsedSeconds) / 100) * this.#spanJump;
    const share = signal / this.#nominal;
    const bent = ((4 * (photometer.curvaturePercent ?? 0)) / 100) * this.#nominal * share * (1 - share);
    const clean = span * (signal + bent);
    const percentOfChallenge = (Math.max(0, clean) / this.#nominal) * 100;
    const baseline = photometer.baselineNoisePercent * Math.sqrt(this.#rate / referenceRate);
    const shot = photometer.shotNoisePercent * Math.sqrt(percentOfChallenge * this.#rate);
    const noise = (Math.hypot(baseline, shot) / 100) * this.#nominal * this.#normal;
    const reading = Math.min(this.#saturation, zero + clean + noise);
    return photometer.quantum > 0 ? Math.round(reading / photometer.quantum) * photometer.quantum : reading;
  }
}
