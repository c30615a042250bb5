import type { Port } from '../../../src/model/rig.ts';
import type { Exercise, Movement } from '../../../src/model/series.ts';
import type { Scenario } from '../scenario.ts';

/** Lines of the demo rig: what flows through each all the time, and how wide they are inside. */
const lineLitresPerMinute = 1.4;
const boreMillimetres = 4;

/**
 * A port of the demo rig; certificate values with their standard uncertainties. Its line holds what flows in its
 * transit, to the centimetre.
 */
function port(number: number, role: Port['role'], probe: string, label: string, transitSeconds: number): Port {
  const millilitres = (lineLitresPerMinute * 1000 * transitSeconds) / 60;
  const metres = millilitres / ((Math.PI / 4) * boreMillimetres * boreMillimetres);
  const line = { lineMetres: Math.round(metres * 100) / 100, boreMillimetres };
  return {
    port: number,
    role,
    probe,
    label,
    transitSeconds: { value: transitSeconds, standardUncertainty: 0.05 },
    // The reference line carries no diluter, and nothing in clean air can be diluted or lost.
    dilution: { value: 1, standardUncertainty: role === 'probe' ? 0.01 : 0 },
    penetration: { value: 1, standardUncertainty: role === 'probe' || role === 'reference' ? 0.003 : 0 },
    ...(role === 'spare' ? {} : line),
  };
}

/** A block of the demo series: 28 s of reference, 2 s and a lead-in of 20 s of filtered air, five dwells of 18 s. */
function block(
  exercise: string,
  name: string,
  instruction: string,
  movement: Movement,
  cadencePerMinute: number,
  watts: number,
): Exercise {
  return {
    exercise,
    name,
    instruction,
    restSeconds: 30,
    restZeroSeconds: 2,
    leadInSeconds: 20,
    durationSeconds: 110,
    dwellsPerProbe: 1,
    cadencePerMinute,
    movement,
    workRateWatts: watts,
  };
}

/** A movement and how it works on the zones from hood to ankle. */
function movement(
  exercise: string,
  strokesPerMinute: number | null,
  amplitude: number,
  workRateWatts: number,
  factors: readonly [number, number, number, number, number],
): Scenario['movements'][number] {
  const [hood, chest, lowerBack, thigh, ankle] = factors;
  const leakFactors = { hood, chest, 'lower-back': lowerBack, thigh, ankle };
  return { exercise, strokesPerMinute, amplitude, leakFactors, workRateWatts };
}

/** A zone of the ensemble with the background that every probe has. */
function zone(
  probe: string,
  volumeLitres: number,
  cleanInflowLitresPerMinute: number,
  burstShare: number,
  strokePercent: number,
): Scenario['ensemble']['zones'][number] {
  return { probe, volumeLitres, cleanInflowLitresPerMinute, burstShare, strokePercent, backgroundPercent: 0.003 };
}

/** Drift in a straight line and a smooth swing; no random walk. */
function drift(linearPercentPerHour: number, smoothPercentPerHour: number): Scenario['photometer']['zeroDrift'] {
  return { linearPercentPerHour, smoothPercentPerHour, smoothPeriodMinutes: 45, walkPercentPerRootHour: 0 };
}

/**
 * A grain terminal compares coveralls for its cleaning and dust crews: salt aerosol, eight-way selector, ten blocks,
 * 1450 s from the first rest to the closing zero. Numbers as the guide to the virtual rig explains.
 */
export const demo: Scenario = {
  name: 'demo',
  title: 'Grain terminal coveralls: ventilated one-piece, ten blocks',
  trueValues: 'drawn',
  rig: {
    name: 'Virtual chamber with eight-way selector',
    version: 1,
    virtual: true,
    instruments: [
      {
        instrument: 'photometer',
        kind: 'photometer',
        dialect: 'text-lines',
        settings: { plausibleLow: -1, plausibleHigh: 45 },
      },
      { instrument: 'selector', kind: 'selector-valve', dialect: 'command-lines', settings: {} },
      { instrument: 'belt', kind: 'heart-rate', dialect: 'measurement-hex', settings: {} },
      { instrument: 'contacts', kind: 'contact', dialect: 'lines', settings: {} },
    ],
    photometer: 'photometer',
    photometerStream: 'concentration',
    selectorValve: 'selector',
    heartRate: 'belt',
    timeConstantSeconds: { value: 1, standardUncertainty: 0.03 },
    instrumentDelaySeconds: { value: 0.1, standardUncertainty: 0.01 },
    commonTransitSeconds: { value: 0.5, standardUncertainty: 0.02 },
    commonDispersionSeconds: 0.08,
    valveSwitchingSeconds: 0.15,
    bypass: true,
    lineLitresPerMinute,
    spatialFactor: { value: 1, standardUncertainty: 0.01 },
    saturation: 40,
    challenge: { agent: 'salt aerosol', nominal: 12, exchangeSeconds: 90 },
    ports: [
      port(1, 'probe', 'hood', 'Hood', 1.2),
      port(2, 'probe', 'chest', 'Chest', 1),
      port(3, 'probe', 'lower-back', 'Lower back', 1.1),
      port(4, 'probe', 'thigh', 'Thigh', 1.4),
      port(5, 'probe', 'ankle', 'Ankle', 1.8),
      port(6, 'reference', 'chamber', 'Chamber reference', 0.8),
      port(7, 'filtered-air', 'filtered-air', 'Filtered air', 0.4),
      port(8, 'spare', 'spare', 'Spare', 0.4),
    ],
  },
  series: {
    name: 'Coverall series, ten blocks',
    version: 1,
    source: 'Own series of the demonstration; not a published method.',
    background: { zeroSeconds: 22, dwellSeconds: 18 },
    entry: {
      minimumSeconds: 60,
      maximumSeconds: 300,
      steadyRangePercent: 10,
      steadyWindowSeconds: 20,
      leastChallengePercent: 50,
    },
    exercises: [
      block('march', 'March on the spot', 'March on the spot, knees high, arms swinging.', 'march', 60, 30),
      block('knee-bends', 'Deep knee bends', 'Bend your knees as deep as you can, then rise.', 'knee-bend', 20, 60),
      block('overhead-reach', 'Overhead reach', 'Reach up with both hands, then let them down.', 'reach', 20, 25),
      block('trunk-twist', 'Trunk twist', 'Turn your upper body left and right, feet still.', 'twist', 30, 25),
      block('side-bends', 'Side bends', 'Lean to the left, then to the right, arms hanging.', 'bend', 24, 20),
      block('crawl', 'Crawl', 'Crawl forwards and back on hands and knees.', 'crawl', 40, 60),
      block('ladder-step', 'Ladder step', 'Step up and down the ladder, hands on the rails.', 'ladder', 40, 80),
      block('step-13', 'Stepping, 13 a minute', 'Step up and down on the signal.', 'step', 13, 55),
      block('step-17', 'Stepping, 17 a minute', 'Step up and down on the signal.', 'step', 17, 75),
      block('step-21', 'Stepping, 21 a minute', 'Step up and down on the signal.', 'step', 21, 95),
    ],
    closing: { referenceSeconds: 28, zeroSeconds: 22 },
    order: { kind: 'rotated', offset: 0, forbidden: [['ankle', 'hood']] },
  },
  chamber: {
    exchangeSeconds: 90,
    startPercent: 100,
    levelPercent: 100,
    levelStandardDeviationPercent: 2,
    generatorFluctuationPercent: 5,
    generatorCorrelationSeconds: 10,
    driftPercentPerHour: -1,
    door: { openSeconds: 8, exchangePerSecond: 0.004 },
  },
  ensemble: {
    // Volume/inflow is 11 s in every zone. The hood hardly pumps.
    zones: [
      zone('hood', 6.05, 33, 0.25, 2),
      zone('chest', 12.1, 66, 0.9, 4),
      zone('lower-back', 12.1, 66, 0.9, 4),
      zone('thigh', 14.3, 78, 0.9, 5),
      zone('ankle', 6.05, 33, 0.9, 6),
    ],
    exchanges: [
      { between: ['hood', 'chest'], litresPerMinute: 0.3 },
      { between: ['chest', 'lower-back'], litresPerMinute: 1.2 },
      { between: ['lower-back', 'thigh'], litresPerMinute: 1 },
      { between: ['thigh', 'ankle'], litresPerMinute: 0.5 },
    ],
    paths: [
      { path: 'neck', zone: 'hood', millilitresPerMinute: 9.7 },
      { path: 'wrists', zone: 'chest', millilitresPerMinute: 103 },
      { path: 'closure', zone: 'lower-back', millilitresPerMinute: 240 },
      { path: 'seat-seam', zone: 'thigh', millilitresPerMinute: 690 },
      { path: 'ankles', zone: 'ankle', millilitresPerMinute: 515 },
    ],
    cell: { volumeLitres: 0.6, litresPerSecond: 1, directShare: 0.3 },
    restShare: 0.25,
    fitLogStandardDeviation: 0.4,
    exerciseLogStandardDeviation: 0.3,
    trendPercent: 30,
    strokePercent: 35,
    slowPercent: 25,
    slowCorrelationSeconds: 15,
    backgroundLogStandardDeviation: 0.2,
  },
  movements: [
    movement('march', null, 1, 30, [0.75, 0.8, 0.75, 0.75, 0.85]),
    movement('knee-bends', null, 1.5, 60, [0.95, 1.1, 1.4, 1.6, 1.2]),
    movement('overhead-reach', null, 1.2, 25, [1.5, 1.6, 1.2, 0.7, 0.6]),
    movement('trunk-twist', null, 1, 25, [1.2, 1.2, 1.3, 0.8, 0.7]),
    movement('side-bends', null, 1, 20, [1.1, 1.1, 1.2, 0.9, 0.8]),
    movement('crawl', null, 1.5, 60, [1.3, 0.95, 1.1, 1.5, 1.6]),
    movement('ladder-step', null, 1.3, 80, [0.95, 1, 0.95, 1.3, 1.5]),
    // Up and down are two strokes of the air inside.
    movement('step-13', 26, 1, 55, [0.7, 0.75, 0.7, 0.8, 0.85]),
    movement('step-17', 34, 1, 75, [0.9, 0.85, 0.8, 0.95, 1.1]),
    movement('step-21', 42, 1, 95, [1.1, 1, 0.95, 1.2, 1.3]),
  ],
  subject: {
    ageYears: 34,
    restPerMinute: 78,
    perWatt: 0.75,
    risingSeconds: 28,
    fallingSeconds: 45,
    driftPerHour: 15,
    variabilityPercent: 3,
    breathsPerMinute: 18,
  },
  sampling: { portDispersionSeconds: 0.12, tail: null },
  valve: { acknowledgeDelaySeconds: 0.05, startPort: 7 },
  photometer: {
    intervalMilliseconds: 50,
    zeroReading: 0.02,
    span: 1,
    zeroDrift: drift(0.5, 0.2),
    spanDrift: drift(-1, 0.5),
    baselineNoisePercent: 0.004,
    shotNoisePercent: 0.01,
    quantum: 0.00001,
  },
  belt: { intervalMilliseconds: 1000 },
  faults: [],
};
