import type { Stated } from '../../src/model/rig.ts';
import { RandomStream } from './random.ts';
import type { Scenario } from './scenario.ts';

/** What is really so in this trial, where the laboratory has only a value and an uncertainty on paper. */
export interface TrueValues {
  /** Steady concentration at the reference point, in the photometer's unit. */
  readonly steadyConcentration: number;
  readonly spatialFactor: number;
  readonly timeConstantSeconds: number;
  /** Valve to the instrument's optics: common line and the delay inside. */
  readonly commonTransitSeconds: number;
  /** In the order of the rig's ports. */
  readonly ports: readonly {
    readonly transitSeconds: number;
    readonly dilution: number;
    readonly penetration: number;
  }[];
  /** Leak of each path divided by the scenario's, in the scenario's order. */
  readonly fitFactors: readonly number[];
  /** Background concentration at each probe, in the photometer's unit. */
  readonly backgrounds: readonly number[];
}

/**
 * Draws the true values of a trial. Each group has a stream of its own and draws the same count always; with
 * `trueValues: 'stated'` the draws are made and not used.
 */
export function drawTrueValues(scenario: Scenario, seed: number): TrueValues {
  const rig = scenario.rig;
  const weight = scenario.trueValues === 'drawn' ? 1 : 0;
  const stated = (value: Stated, random: RandomStream, least: number): number =>
    Math.max(least, value.value + weight * value.standardUncertainty * random.normal());
  // A draw so far out that the quantity would vanish is cut at a tenth of the certificate value.
  const positive = (value: Stated, random: RandomStream): number => stated(value, random, value.value / 10);

  const chamberRandom = new RandomStream(seed, 'draw chamber');
  const level = scenario.chamber.levelPercent + scenario.chamber.levelStandardDeviationPercent * chamberRandom.normal();
  const opticsRandom = new RandomStream(seed, 'draw optics');
  const commonRandom = new RandomStream(seed, 'draw common line');
  const dispersion = scenario.sampling.portDispersionSeconds;
  const commonTransit = stated(rig.commonTransitSeconds, commonRandom, 2 * rig.commonDispersionSeconds);
  const instrumentDelay = stated(rig.instrumentDelaySeconds, commonRandom, 0);
  const portRandom = new RandomStream(seed, 'draw ports');
  const fitRandom = new RandomStream(seed, 'draw fit');
  const backgroundRandom = new RandomStream(seed, 'draw background');
  return {
    steadyConcentration: (rig.challenge.nominal * Math.max(1, level)) / 100,
    spatialFactor: positive(rig.spatialFactor, new RandomStream(seed, 'draw spatial factor')),
    timeConstantSeconds: positive(rig.timeConstantSeconds, opticsRandom),
    commonTransitSeconds: commonTransit + instrumentDelay,
    ports: rig.ports.map((port) => ({
      transitSeconds: stated(port.transitSeconds, portRandom, 2 * dispersion),
      dilution: positive(port.dilution, portRandom),
      penetration: positive(port.penetration, portRandom),
    })),
    fitFactors: scenario.ensemble.paths.map(() =>
      Math.exp(scenario.ensemble.fitLogStandardDeviation * fitRandom.normal()),
    ),
    backgrounds: scenario.ensemble.zones.map(
      (zone) =>
        ((rig.challenge.nominal * zone.backgroundPercent) / 100) *
        Math.exp(scenario.ensemble.backgroundLogStandardDeviation * backgroundRandom.normal()),
    ),
  };
}
