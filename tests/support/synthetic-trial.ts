import type { Rig } from '../../src/model/rig.ts';
import type { Series } from '../../src/model/series.ts';
import type { Dwell, DwellPurpose, Stage, TrialEvent } from '../../src/model/trial-event.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { gaussianSource } from './gaussian.ts';

/**
 * A trial computed from formulas, with known truth, in which every correction matters: a dilution of 20 on one
 * port and of 2 on the reference, lossy lines, a spatial factor, a background of a third of the smallest leakage,
 * drifting zero, span and challenge. Nothing of it is shared with the program under test or with the virtual rig.
 */
export interface SyntheticOptions {
  readonly seed?: number;
  /** Standard deviation of a reading, share of the nominal challenge. */
  readonly noise?: number;
  readonly timeConstantSeconds?: number;
  readonly bypass?: boolean;
  /** Per hour, share of the nominal challenge. */
  readonly zeroDrift?: number;
  /** Per hour, relative. */
  readonly spanDrift?: number;
  /** Per hour, relative. */
  readonly challengeDrift?: number;
  /** Relative amplitude of a challenge wave of 1400 s. */
  readonly challengeWave?: number;
  /** Background in all probes, share of the nominal challenge. */
  readonly background?: number;
  /** Leakage by probe, share of the challenge at the subject's place. */
  readonly leakages?: readonly number[];
  /** Relative amplitudes of a leakage wave of 40 s and of bursts at 0.5 Hz. */
  readonly wave?: number;
  readonly burst?: number;
  /** Part of a reading that follows with 8 s, as if walls released aerosol. */
  readonly tailShare?: number;
  /** Probes in the breathing zone, each breath of so many seconds, of which this share goes in. */
  readonly breath?: { readonly probes: readonly string[]; readonly seconds: number; readonly inspired: number };
  readonly exercises?: number;
  readonly dwellsPerProbe?: number;
  readonly dwellSeconds?: number;
}

export interface SyntheticTrial {
  readonly record: TrialRecord;
  /** Mean leakage over a stretch of probe time, percent of the challenge at the subject's place. */
  truthPercent(probe: string, fromMicroseconds: number, toMicroseconds: number): number;
}

export const probeNames = ['hood', 'chest', 'back', 'thigh', 'ankle'] as const;
export const nominal = 12;
const dilutions = [1, 1, 2, 5, 20];
const penetrations = [0.985, 0.98, 0.975, 0.97, 0.96];
const portTransits = [2.0, 1.8, 1.7, 1.9, 2.2];
const referencePort = { dilution: 2, penetration: 0.94, transit: 1.5 };
const spatialFactor = 0.96;
const commonTransit = 0.9;
const instrumentDelay = 0.03;
const zeroLevel = 0.05;
const stepSeconds = 0.005;
const stepsPerReading = 10;
const valveMoves = 0.04;
const valveAnswers = 0.08;

export function syntheticTrial(options: SyntheticOptions = {}): SyntheticTrial {
  const {
    seed = 1,
    noise = 1e-7,
    timeConstantSeconds: tau = 1,
    bypass = true,
    zeroDrift = 0.02,
    spanDrift = -0.03,
    challengeDrift = -0.07,
    challengeWave = 0.003,
    background = 1e-4,
    leakages = [3e-4, 1.6e-3, 3.6e-3, 8.3e-3, 1.6e-2],
    wave = 0.2,
    burst = 0.3,
    tailShare = 0,
    breath,
    exercises = 3,
    dwellsPerProbe = 1,
    dwellSeconds = 18,
  } = options;

  const rig = withBreath(makeRig(tau, bypass), breath?.probes ?? []);
  const series = makeSeries(exercises, dwellsPerProbe, dwellSeconds);
  const { events, visits, entersAt, endsAt } = schedule(series, exercises, dwellsPerProbe, dwellSeconds);

  const hours = (seconds: number): number => seconds / 3600;
  const challenge = (t: number): number => {
    if (t < entersAt) return 0;
    const built = 1 - Math.exp(-(t - entersAt) / 15);
    return nominal * built * (1 + challengeDrift * hours(t) + challengeWave * Math.sin((2 * Math.PI * t) / 1400));
  };
  const leak = (probe: number, t: number): number =>
    (leakages[probe] as number) *
    (1 + wave * Math.sin((2 * Math.PI * t) / 40 + probe) + burst * Math.sin(Math.PI * t + 2 * probe));
  const outside = (port: number, t: number): number => {
    if (port === 7) return 0;
    if (port === 6) return challenge(t);
    if (breath?.probes.includes(probeNames[port - 1] as string) === true && !breathesIn(breath, t)) return 0;
    return background * nominal + leak(port - 1, t) * spatialFactor * challenge(t);
  };
  const transit = (port: number): number =>
    port === 6 ? referencePort.transit : port === 7 ? 1 : (portTransits[port - 1] as number);
  const share = (port: number): number =>
    port === 6
      ? referencePort.penetration / referencePort.dilution
      : port === 7
        ? 1
        : (penetrations[port - 1] as number) / (dilutions[port - 1] as number);

  /** Air that leaves the valve: the port's line moves always (bypass), or only while the valve is on it. */
  const atValve = (visit: Visit, t: number): number => {
    const length = transit(visit.port);
    const since = t - visit.from;
    if (bypass || since >= length) return share(visit.port) * outside(visit.port, t - length);
    const before = visits.findLast((other) => other.port === visit.port && other.to <= visit.from + 1e-9);
    return before === undefined ? 0 : share(visit.port) * outside(visit.port, before.to - (length - since));
  };

  const gaussian = gaussianSource(seed);
  const steps = Math.floor(endsAt / stepSeconds);
  const count = Math.floor(steps / stepsPerReading);
  const atMicroseconds = new Float64Array(count);
  const values = new Float64Array(count);
  let state = 0;
  let wall = 0;
  let visitIndex = 0;
  const decay = Math.exp(-stepSeconds / tau);
  const wallDecay = Math.exp(-stepSeconds / 8);
  for (let step = 0; step < count * stepsPerReading; step += 1) {
    // `t` is time at the valve; the photometer sees it commonTransit later, the reading shows it instrumentDelay later.
    const t = step * stepSeconds;
    while ((visits[visitIndex + 1]?.from ?? Infinity) <= t + stepSeconds / 2) visitIndex += 1;
    const visit = visits[visitIndex] as Visit;
    const left = atValve(visit, t);
    const right = atValve(visit, t + stepSeconds);
    wall = left + (wall - left) * wallDecay;
    const from = (1 - tailShare) * left + tailShare * wall;
    const to = (1 - tailShare) * right + tailShare * wall;
    // Exact response of a first-order instrument to a straight piece.
    const slope = (to - from) / stepSeconds;
    state = to - slope * tau + (state - from + slope * tau) * decay;
    if ((step + 1) % stepsPerReading === 0) {
      const index = (step + 1) / stepsPerReading - 1;
      const arrival = t + stepSeconds + commonTransit + instrumentDelay;
      atMicroseconds[index] = Math.round(arrival * 1e6);
      values[index] =
        (1 + spanDrift * hours(arrival)) * state +
        zeroLevel +
        zeroDrift * nominal * hours(arrival) +
        noise * nominal * gaussian();
    }
  }

  return {
    record: {
      header: {
        trial: 't-000000000000',
        study: 's-000000000000',
        subject: 'S1',
        ensemble: 'E1',
        operator: 'O1',
        virtual: true,
        program: '0.0.0',
      },
      rig,
      series,
      segments: [
        {
          segment: 0,
          bootId: 'b-000000000000',
          reason: 'start',
          beginsAtMicroseconds: 0,
          monotonicOriginMicroseconds: 0,
          wallAnchor: '2026-01-01T00:00:00.000Z',
        },
      ],
      events,
      streams: [
        {
          descriptor: {
            instrument: 'photometer',
            stream: 'concentration',
            unit: 'mg/m3',
            resolution: 1e-5,
            plausibleLow: null,
            plausibleHigh: null,
            expectedIntervalSeconds: 0.05,
            silenceLimitSeconds: 1,
          },
          atMicroseconds,
          values,
        },
        ...(breath === undefined ? [] : [flowOf(breath, endsAt)]),
      ],
    },
    truthPercent(probe, fromMicroseconds, toMicroseconds) {
      const index = probeNames.indexOf(probe as (typeof probeNames)[number]);
      const pieces = 4000;
      const width = (toMicroseconds - fromMicroseconds) / 1e6 / pieces;
      let inside = 0;
      let around = 0;
      for (let piece = 0; piece < pieces; piece += 1) {
        const t = fromMicroseconds / 1e6 + (piece + 0.5) * width;
        if (breath?.probes.includes(probe) === true && !breathesIn(breath, t)) continue;
        inside += leak(index, t) * spatialFactor * challenge(t);
        around += spatialFactor * challenge(t);
      }
      return (100 * inside) / around;
    },
  };
}

type Breath = NonNullable<SyntheticOptions['breath']>;

function breathesIn({ inspired, seconds }: Breath, t: number): boolean {
  return (t / seconds) % 1 < inspired;
}

/** Half a sine in, half a sine out, of equal volumes, on a baseline that drifts. A hundred lines a second. */
function flowOf(breath: Breath, endsAt: number): TrialRecord['streams'][number] {
  const { inspired, seconds } = breath;
  const count = Math.floor(endsAt * 100);
  const flow = (t: number): number => {
    const phase = (t / seconds) % 1;
    return phase < inspired
      ? Math.sin((Math.PI * phase) / inspired) / inspired
      : -Math.sin((Math.PI * (phase - inspired)) / (1 - inspired)) / (1 - inspired);
  };
  return {
    descriptor: {
      ...{ instrument: 'breath', stream: 'flow', unit: 'L/min', resolution: 0.1, plausibleLow: -600 },
      ...{ plausibleHigh: 600, expectedIntervalSeconds: 0.01, silenceLimitSeconds: 1 },
    },
    atMicroseconds: Float64Array.from({ length: count }, (_, index) => (index + 1) * 1e4),
    values: Float64Array.from({ length: count }, (_, index) => 20 * flow((index + 1) / 100) + 1 + index / count),
  };
}

function withBreath(rig: Rig, probes: readonly string[]): Rig {
  if (probes.length === 0) return rig;
  const breath = { instrument: 'breath', kind: 'breathing', dialect: 'flow-lines', settings: {} };
  const ports = rig.ports.map((port) => (probes.includes(port.probe) ? { ...port, breathingZone: true } : port));
  return { ...rig, instruments: [...rig.instruments, breath], ports };
}

interface Visit {
  readonly port: number;
  /** When the valve is physically on the port, s. */
  readonly from: number;
  readonly to: number;
}

function makeRig(tau: number, bypass: boolean): Rig {
  const stated = (value: number, relative: number) => ({ value, standardUncertainty: value * relative });
  const instrument = (name: string, kind: string) => ({ instrument: name, kind, dialect: 'text-lines', settings: {} });
  return {
    name: 'synthetic',
    version: 1,
    virtual: true,
    instruments: [instrument('photometer', 'photometer'), instrument('valve', 'selector-valve')],
    photometer: 'photometer',
    photometerStream: 'concentration',
    selectorValve: 'valve',
    heartRate: null,
    timeConstantSeconds: stated(tau, 0.03),
    instrumentDelaySeconds: stated(instrumentDelay, 0),
    commonTransitSeconds: stated(commonTransit, 0.05),
    commonDispersionSeconds: 0.1,
    valveSwitchingSeconds: valveMoves,
    bypass,
    spatialFactor: stated(spatialFactor, 0.01),
    saturation: 50,
    challenge: { agent: 'salt', nominal },
    ports: [
      ...probeNames.map((probe, index) => ({
        port: index + 1,
        role: 'probe' as const,
        probe,
        label: probe,
        transitSeconds: stated(portTransits[index] as number, 0.02),
        dilution: stated(dilutions[index] as number, 0.01),
        penetration: stated(penetrations[index] as number, 0.003),
      })),
      {
        port: 6,
        role: 'reference',
        probe: 'chamber',
        label: 'chamber',
        transitSeconds: stated(referencePort.transit, 0.02),
        dilution: stated(referencePort.dilution, 0.01),
        penetration: stated(referencePort.penetration, 0.003),
      },
      {
        port: 7,
        role: 'filtered-air',
        probe: 'filtered-air',
        label: 'filtered air',
        transitSeconds: stated(1, 0.02),
        dilution: stated(1, 0),
        penetration: stated(1, 0),
      },
    ],
  };
}

function makeSeries(exercises: number, dwellsPerProbe: number, dwellSeconds: number): Series {
  return {
    name: 'synthetic',
    version: 1,
    source: 'made for tests',
    background: { zeroSeconds: 25, dwellSeconds: 18 },
    entry: {
      minimumSeconds: 150,
      maximumSeconds: 300,
      steadyRangePercent: 10,
      steadyWindowSeconds: 30,
      leastChallengePercent: 50,
    },
    exercises: Array.from({ length: exercises }, (_, index) => ({
      exercise: `exercise-${index + 1}`,
      name: `Exercise ${index + 1}`,
      instruction: 'Move.',
      restSeconds: 30,
      restZeroSeconds: 2,
      leadInSeconds: 20,
      durationSeconds: 20 + probeNames.length * dwellsPerProbe * dwellSeconds,
      dwellsPerProbe,
      cadencePerMinute: null,
      workRateWatts: null,
    })),
    closing: { referenceSeconds: 28, zeroSeconds: 22 },
    order: { kind: 'rotated', offset: 0, forbidden: [] },
  };
}

/** Events and valve positions of the series. Every time is a multiple of 5 ms. */
function schedule(
  series: Series,
  exercises: number,
  dwellsPerProbe: number,
  dwellSeconds: number,
): { readonly events: TrialEvent[]; readonly visits: Visit[]; readonly entersAt: number; readonly endsAt: number } {
  const events: TrialEvent[] = [];
  const visits: { port: number; from: number; to: number }[] = [];
  const micro = (seconds: number): number => Math.round(seconds * 1e6);
  let now = 1;
  let number = 0;
  let entersAt = 0;
  const stay = (
    stage: Stage,
    purpose: DwellPurpose,
    port: number,
    seconds: number,
    exercise: string | null = null,
    dwellPosition: number | null = null,
  ): void => {
    const probe = port === 7 ? 'filtered-air' : port === 6 ? 'chamber' : (probeNames[port - 1] as string);
    const attempt = purpose === 'probe' ? 1 : 0;
    const dwell: Dwell = { dwell: number, step: number, stage, purpose, port, probe, exercise, dwellPosition, attempt };
    events.push({
      kind: 'dwell-began',
      atMicroseconds: micro(now),
      dwell,
      plannedAtMicroseconds: micro(now),
      machine: null,
    });
    events.push({ kind: 'port-requested', atMicroseconds: micro(now), dwell: number, port });
    events.push({ kind: 'port-acknowledged', atMicroseconds: micro(now + valveAnswers), dwell: number, port });
    const last = visits.at(-1);
    if (last !== undefined) last.to = now + valveMoves;
    visits.push({ port, from: number === 0 ? 0 : now + valveMoves, to: Infinity });
    now += seconds;
    events.push({ kind: 'dwell-ended', atMicroseconds: micro(now), dwell: number, complete: true, reason: 'time' });
    number += 1;
  };
  stay('background', 'zero', 7, 25);
  for (let port = 1; port <= probeNames.length; port += 1) stay('background', 'background', port, 18);
  stay('background', 'zero', 7, 25);
  entersAt = now;
  stay('entry', 'reference', 6, series.entry.minimumSeconds);
  for (let index = 0; index < exercises; index += 1) {
    const exercise = series.exercises[index]?.exercise ?? null;
    stay('rest', 'reference', 6, 28, exercise);
    stay('exercise', 'zero', 7, 22, exercise);
    if (exercise !== null) events.push({ kind: 'exercise-began', atMicroseconds: micro(now), exercise, attempt: 1 });
    for (let position = 1; position <= probeNames.length * dwellsPerProbe; position += 1) {
      const port = ((position - 1 + index) % probeNames.length) + 1;
      stay('exercise', 'probe', port, dwellSeconds, exercise, position);
    }
    if (exercise !== null)
      events.push({ kind: 'exercise-ended', atMicroseconds: micro(now), exercise, attempt: 1, complete: true });
  }
  stay('closing', 'reference', 6, 28);
  stay('closing', 'zero', 7, 22);
  return { events, visits, entersAt, endsAt: now };
}
