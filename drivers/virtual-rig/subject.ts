import { RandomStream } from './random.ts';
import type { Scenario } from './scenario.ts';

/** Longest run of beats kept for a belt that nobody reads. */
const keptIntervals = 64;

/**
 * The heart of the person in the ensemble: external power sets where the heart rate goes, with a slower way down
 * than up and a ceiling by age (208 − 0.7 · years, Tanaka, Monahan and Seals 2001). Beats follow one another with
 * breathing and random variability.
 */
export class Subject {
  /** Per minute. */
  heartRate: number;
  readonly #parameters: Scenario['subject'];
  readonly #ceiling: number;
  readonly #work = new Map<string, number>();
  readonly #risingKeep: number;
  readonly #fallingKeep: number;
  readonly #stepSeconds: number;
  readonly #random: RandomStream;
  #power = 0;
  #load = 0;
  #drift = 0;
  #seconds = 0;
  #intervals: number[] = [];
  #beatAt: number;
  #interval: number;

  constructor(scenario: Scenario, seed: number, salt: string, stepSeconds: number) {
    const subject = scenario.subject;
    this.#parameters = subject;
    this.#ceiling = 208 - 0.7 * subject.ageYears;
    this.#stepSeconds = stepSeconds;
    this.heartRate = Math.min(subject.restPerMinute, this.#ceiling);
    this.#risingKeep = Math.exp(-stepSeconds / subject.risingSeconds);
    this.#fallingKeep = Math.exp(-stepSeconds / subject.fallingSeconds);
    this.#random = new RandomStream(seed, `heart${salt}`);
    for (const movement of scenario.movements) this.#work.set(movement.exercise, movement.workRateWatts);
    for (const exercise of scenario.series.exercises) {
      if (exercise.workRateWatts !== null) this.#work.set(exercise.exercise, exercise.workRateWatts);
    }
    this.#interval = 60 / this.heartRate;
    this.#beatAt = this.#interval;
  }

  /** What the subject works against, W. */
  get powerWatts(): number {
    return this.#power + this.#load;
  }

  move(exercise: string | null): void {
    this.#power = exercise === null ? 0 : (this.#work.get(exercise) ?? 0);
  }

  /** The brake of an ergometer, W: what the subject works against besides the movement. */
  setLoad(watts: number): void {
    this.#load = watts;
  }

  step(): void {
    const subject = this.#parameters;
    const power = this.powerWatts;
    if (power > 0) this.#drift += (subject.driftPerHour / 3600) * this.#stepSeconds;
    const demand = subject.restPerMinute + subject.perWatt * power + this.#drift;
    const target = Math.min(this.#ceiling, demand);
    const keep = target > this.heartRate ? this.#risingKeep : this.#fallingKeep;
    this.heartRate = target + (this.heartRate - target) * keep;
    this.#seconds += this.#stepSeconds;
    if (this.#seconds < this.#beatAt) return;
    this.#intervals.push(this.#interval);
    if (this.#intervals.length > keptIntervals) this.#intervals.shift();
    const breath = Math.sin((2 * Math.PI * this.#seconds * subject.breathsPerMinute) / 60);
    const variability = (subject.variabilityPercent / 100) * (breath + 0.5 * this.#random.normal());
    this.#interval = (60 / this.heartRate) * Math.max(0.5, 1 + variability);
    this.#beatAt += this.#interval;
  }

  /** Intervals between the beats since the last call, s, oldest first. */
  takeIntervals(): number[] {
    const intervals = this.#intervals;
    this.#intervals = [];
    return intervals;
  }
}
