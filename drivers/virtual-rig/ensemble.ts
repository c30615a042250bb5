import { FirstOrderNoise, FirstOrderStage } from './first-order.ts';
import { RandomStream } from './random.ts';
import type { Scenario } from './scenario.ts';
import type { TrueValues } from './draws.ts';

interface Movement {
  readonly strokesPerSecond: number;
  readonly amplitude: number;
  readonly durationSeconds: number;
  /** Leak by zone, relative to the ordinary movement. */
  readonly levels: Float64Array;
  /** Relative change of the leak over the exercise, by zone. */
  readonly trends: Float64Array;
}

const trendFloor = 0.1;

/**
 * The air inside: one well-mixed zone per probe, washed by clean inflow, trading air with its neighbours, fed by
 * leak paths; and at each probe a small mixing cell that sees part of the leak directly. The clean inflow does not
 * depend on the leak (the fan keeps the total), so concentration is exactly proportional to the leak paths.
 */
export class Ensemble {
  /** Leak-borne concentration at each probe's cell: mean over the last step. This is the truth. */
  readonly cellMeans: Float64Array;
  /** The same without the cell, for those who want to look into the zones. */
  readonly zoneMeans: Float64Array;
  readonly #count: number;
  readonly #parameters: Scenario['ensemble'];
  readonly #stepSeconds: number;
  readonly #zones: Float64Array;
  readonly #volumes: Float64Array;
  readonly #inflows: Float64Array;
  readonly #leaks: Float64Array;
  readonly #burstShares: Float64Array;
  readonly #strokeShares: Float64Array;
  /** Exchange flows, row by row, L/s. */
  readonly #exchange: Float64Array;
  readonly #exchangeTotals: Float64Array;
  readonly #cells: FirstOrderStage[];
  readonly #slow: FirstOrderNoise[];
  readonly #slowFactors: Float64Array;
  readonly #strengths: Float64Array;
  readonly #movements = new Map<string, Movement>();
  readonly #strokeRandom: RandomStream;
  readonly #slowRandom: RandomStream;
  readonly #strokeLogDeviation: number;
  #movement: Movement | null = null;
  #movementSeconds = 0;
  #phase = 0;

  constructor(
    scenario: Scenario,
    values: TrueValues,
    seed: number,
    salt: string,
    stepSeconds: number,
    noiseIntervalSeconds: number,
  ) {
    const ensemble = scenario.ensemble;
    const zones = ensemble.zones;
    const count = zones.length;
    this.#count = count;
    this.#parameters = ensemble;
    this.#stepSeconds = stepSeconds;
    this.#zones = new Float64Array(count);
    this.cellMeans = new Float64Array(count);
    this.zoneMeans = new Float64Array(count);
    this.#volumes = Float64Array.from(zones, (zone) => zone.volumeLitres);
    this.#inflows = Float64Array.from(zones, (zone) => zone.cleanInflowLitresPerMinute / 60);
    this.#burstShares = Float64Array.from(zones, (zone) => zone.burstShare);
    this.#strokeShares = Float64Array.from(zones, (zone) => zone.strokePercent / 100);
    this.#leaks = new Float64Array(count);
    const indexOf = (probe: string): number => zones.findIndex((zone) => zone.probe === probe);
    for (const [index, path] of ensemble.paths.entries()) {
      const zone = indexOf(path.zone);
      this.#leaks[zone] =
        (this.#leaks[zone] as number) + (path.millilitresPerMinute / 60_000) * (values.fitFactors[index] as number);
    }
    this.#exchange = new Float64Array(count * count);
    this.#exchangeTotals = new Float64Array(count);
    for (const { between, litresPerMinute } of ensemble.exchanges) {
      const first = indexOf(between[0]);
      const second = indexOf(between[1]);
      for (const [into, from] of [[first, second], [second, first]] as const) {
        const cell = into * count + from;
        this.#exchange[cell] = (this.#exchange[cell] as number) + litresPerMinute / 60;
        this.#exchangeTotals[into] = (this.#exchangeTotals[into] as number) + litresPerMinute / 60;
      }
    }
    const cellSeconds = ensemble.cell.volumeLitres / ensemble.cell.litresPerSecond;
    this.#cells = zones.map(() => new FirstOrderStage(cellSeconds, stepSeconds, 0));
    this.#strokeRandom = new RandomStream(seed, `strokes${salt}`);
    this.#slowRandom = new RandomStream(seed, `slow leak${salt}`);
    this.#slow = zones.map(
      () => new FirstOrderNoise(ensemble.slowCorrelationSeconds, noiseIntervalSeconds, this.#slowRandom.normal()),
    );
    this.#slowFactors = new Float64Array(count).fill(1);
    this.#strengths = new Float64Array(count).fill(1);
    this.#strokeLogDeviation = Math.sqrt(Math.log1p((ensemble.strokePercent / 100) ** 2));

    const exerciseRandom = new RandomStream(seed, 'draw exercises');
    for (const movement of scenario.movements) {
      const exercise = scenario.series.exercises.find((candidate) => candidate.exercise === movement.exercise);
      const levels = new Float64Array(count);
      const trends = new Float64Array(count);
      for (const [index, zone] of zones.entries()) {
        const level = Math.exp(ensemble.exerciseLogStandardDeviation * exerciseRandom.normal());
        levels[index] = (movement.leakFactors[zone.probe] ?? 1) * level;
        trends[index] = (ensemble.trendPercent / 100) * exerciseRandom.normal();
      }
      this.#movements.set(movement.exercise, {
        strokesPerSecond: (movement.strokesPerMinute ?? exercise?.cadencePerMinute ?? 30) / 60,
        amplitude: movement.amplitude,
        durationSeconds: exercise?.durationSeconds ?? 60,
        levels,
        trends,
      });
    }
  }

  knows(exercise: string): boolean {
    return this.#movements.has(exercise);
  }

  /** The subject begins a movement, or (null) rests. */
  move(exercise: string | null): void {
    this.#movement = exercise === null ? null : (this.#movements.get(exercise) ?? null);
    this.#movementSeconds = 0;
    this.#phase = 0;
    this.#drawStrengths();
  }

  /** Brings zones and cells to where the present movement holds them in a steady challenge. */
  settle(challenge: number): void {
    const count = this.#count;
    const movement = this.#movement;
    for (let sweep = 0; sweep < 200; sweep += 1) {
      for (let zone = 0; zone < count; zone += 1) {
        let inward = (this.#leaks[zone] as number) * this.#meanLevel(movement, zone) * challenge;
        for (let other = 0; other < count; other += 1) {
          inward += (this.#exchange[zone * count + other] as number) * (this.#zones[other] as number);
        }
        this.#zones[zone] = inward / ((this.#inflows[zone] as number) + (this.#exchangeTotals[zone] as number));
      }
    }
    const share = this.#parameters.cell.directShare;
    for (let zone = 0; zone < count; zone += 1) {
      const direct =
        ((this.#leaks[zone] as number) * this.#meanLevel(movement, zone) * challenge) / (this.#inflows[zone] as number);
      const cell = (1 - share) * (this.#zones[zone] as number) + share * direct;
      (this.#cells[zone] as FirstOrderStage).value = cell;
      this.cellMeans[zone] = cell;
      this.zoneMeans[zone] = this.#zones[zone] as number;
    }
  }

  renewNoise(): void {
    const share = this.#parameters.slowPercent / 100;
    for (let zone = 0; zone < this.#count; zone += 1) {
      const noise = (this.#slow[zone] as FirstOrderNoise).step(this.#slowRandom.normal());
      this.#slowFactors[zone] = Math.max(0, 1 + share * noise);
    }
  }

  /** One grid step with this mean challenge at the subject's place. */
  step(challenge: number): void {
    const count = this.#count;
    const step = this.#stepSeconds;
    const movement = this.#movement;
    let burst = 1;
    let deflation = 0;
    let progress = 0;
    if (movement !== null) {
      const advance = movement.strokesPerSecond * step;
      const sine = Math.sin(2 * Math.PI * (this.#phase + advance / 2));
      // First half of a stroke pushes air out, the second draws it in; π makes the mean of the half sine 1.
      burst = sine < 0 ? -sine * Math.PI : 0;
      deflation = movement.amplitude * (0.5 - 0.5 * Math.cos(2 * Math.PI * (this.#phase + advance / 2)));
      progress = Math.min(1, this.#movementSeconds / movement.durationSeconds) - 0.5;
      this.#movementSeconds += step;
      this.#phase += advance;
      if (this.#phase >= 1) {
        this.#phase -= 1;
        this.#drawStrengths();
      }
    }
    const directShare = this.#parameters.cell.directShare;
    for (let zone = 0; zone < count; zone += 1) {
      let level = this.#parameters.restShare;
      if (movement !== null) {
        const burstShare = this.#burstShares[zone] as number;
        const trend = Math.max(trendFloor, 1 + (movement.trends[zone] as number) * progress);
        const stroke = 1 - burstShare + burstShare * burst * (this.#strengths[zone] as number);
        level += (1 - level) * (movement.levels[zone] as number) * trend * stroke;
      }
      const leak = (this.#leaks[zone] as number) * level * (this.#slowFactors[zone] as number) * challenge;
      let inward = leak;
      const row = zone * count;
      for (let other = 0; other < count; other += 1) {
        inward += (this.#exchange[row + other] as number) * (this.#zones[other] as number);
      }
      const inflow = this.#inflows[zone] as number;
      const outward = inflow + (this.#exchangeTotals[zone] as number);
      const volume = (this.#volumes[zone] as number) * (1 - (this.#strokeShares[zone] as number) * deflation);
      const steps = (outward * step) / volume;
      const loss = -Math.expm1(-steps);
      const target = inward / outward;
      const distance = (this.#zones[zone] as number) - target;
      const mean = target + (distance * loss) / steps;
      this.#zones[zone] = target + distance * (1 - loss);
      this.zoneMeans[zone] = mean;
      const seen = (1 - directShare) * mean + (directShare * leak) / inflow;
      this.cellMeans[zone] = (this.#cells[zone] as FirstOrderStage).step(seen);
    }
  }

  #meanLevel(movement: Movement | null, zone: number): number {
    const rest = this.#parameters.restShare;
    return movement === null ? rest : rest + (1 - rest) * (movement.levels[zone] as number);
  }

  /** One normal a zone, at every stroke. */
  #drawStrengths(): void {
    const deviation = this.#strokeLogDeviation;
    for (let zone = 0; zone < this.#count; zone += 1) {
      this.#strengths[zone] = Math.exp(deviation * this.#strokeRandom.normal() - (deviation * deviation) / 2);
    }
  }
}
