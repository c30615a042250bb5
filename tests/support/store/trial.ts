import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { TrialDefinition, TrialRecorder } from '../../../src/host/store/contract.ts';
import type { Identifier } from '../../../src/model/identity.ts';
import type { Method } from '../../../src/model/method.ts';
import type { Rig } from '../../../src/model/rig.ts';
import type { Series } from '../../../src/model/series.ts';
import type { TimeSegment } from '../../../src/model/time.ts';

/** A folder that is gone when the test is. */
export function temporaryFolder(): { readonly path: string; readonly remove: () => void } {
  const path = mkdtempSync(join(tmpdir(), 'chamberside-store-'));
  return { path, remove: () => rmSync(path, { recursive: true, force: true }) };
}

export const host: Identifier = 'h-000000000001';

/** A trial identifier from a number. */
export function trialName(number: number): Identifier {
  return `t-${String(number).padStart(12, '0')}`;
}

const stated = (value: number): { value: number; standardUncertainty: number } => ({ value, standardUncertainty: 0 });

export const rig: Rig = {
  name: 'small rig',
  version: 1,
  virtual: true,
  instruments: [
    { instrument: 'photometer', kind: 'photometer', dialect: 'text-lines', settings: {} },
    { instrument: 'valve', kind: 'selector-valve', dialect: 'command-lines', settings: {} },
  ],
  photometer: 'photometer',
  photometerStream: 'concentration',
  selectorValve: 'valve',
  heartRate: null,
  timeConstantSeconds: stated(0.5),
  instrumentDelaySeconds: stated(0),
  commonTransitSeconds: stated(1),
  commonDispersionSeconds: 0.1,
  valveSwitchingSeconds: 0.2,
  bypass: true,
  spatialFactor: stated(1),
  saturation: 100,
  challenge: { agent: 'oil mist', nominal: 20 },
  ports: [
    {
      port: 1,
      role: 'filtered-air',
      probe: 'filtered-air',
      label: 'filtered air',
      transitSeconds: stated(1),
      dilution: stated(1),
      penetration: stated(1),
    },
    {
      port: 2,
      role: 'reference',
      probe: 'chamber',
      label: 'chamber',
      transitSeconds: stated(1),
      dilution: stated(1),
      penetration: stated(1),
    },
    {
      port: 3,
      role: 'probe',
      probe: 'ankle',
      label: 'ankle',
      transitSeconds: stated(2),
      dilution: stated(1),
      penetration: stated(1),
    },
  ],
};

export const series: Series = {
  name: 'short series',
  version: 2,
  source: 'made for tests',
  background: { zeroSeconds: 5, dwellSeconds: 5 },
  entry: {
    minimumSeconds: 5,
    maximumSeconds: 60,
    steadyRangePercent: 10,
    steadyWindowSeconds: 5,
    leastChallengePercent: 50,
  },
  exercises: [
    {
      exercise: 'walking',
      name: 'Walking',
      instruction: 'Walk.',
      restSeconds: 10,
      restZeroSeconds: 4,
      leadInSeconds: 5,
      durationSeconds: 30,
      dwellsPerProbe: 1,
      cadencePerMinute: 60,
      workRateWatts: null,
    },
  ],
  closing: { referenceSeconds: 5, zeroSeconds: 5 },
  order: { kind: 'fixed', offset: 0, forbidden: [] },
};

export const method: Method = {
  name: 'first method',
  version: 1,
  spanSource: 'chamber-reference',
  interpolation: 'linear',
  settling: { rule: 'fixed', seconds: 3 },
  zeroSettlingSeconds: 4,
  lagCorrection: true,
  lagEndSeconds: 0.3,
  guardDispersions: 3,
  subtractBackground: true,
  applyDilution: true,
  applyPenetration: true,
  applySpatialFactor: true,
  carryOverPercent: 5,
  detectionFactor: 3,
  challengeChangePercent: 20,
  zeroChangePercent: 1,
  spanChangePercent: 10,
};

export function segment(number: number, beginsAtMicroseconds = 0): TimeSegment {
  return {
    segment: number,
    bootId: 'b-000000000001',
    reason: number === 0 ? 'start' : 'restart',
    beginsAtMicroseconds,
    monotonicOriginMicroseconds: 5_000_000 + beginsAtMicroseconds,
    wallAnchor: '2026-01-05T08:00:00.000Z',
  };
}

/** A definition with two streams and two instruments. */
export function definition(study: Identifier, trial: Identifier): TrialDefinition {
  return {
    header: { trial, study, subject: 'S-01', ensemble: 'E-01', operator: 'anna', virtual: true, program: '0.1.0' },
    rig,
    series,
    method,
    streams: [
      {
        instrument: 'photometer',
        stream: 'concentration',
        unit: 'mg/m3',
        resolution: 0.001,
        plausibleLow: -1,
        plausibleHigh: 200,
        expectedIntervalSeconds: 0.05,
        silenceLimitSeconds: 2,
      },
      {
        instrument: 'photometer',
        stream: 'flow',
        unit: 'L/min',
        resolution: 0.1,
        plausibleLow: 0,
        plausibleHigh: 10,
        expectedIntervalSeconds: 0.1,
        silenceLimitSeconds: 2,
      },
    ],
    instruments: [
      { instrument: 'photometer', kind: 'photometer', dialect: 'text-lines', connection: 'in-process photometer' },
      { instrument: 'valve', kind: 'selector-valve', dialect: 'command-lines', connection: 'in-process valve' },
    ],
    segment: segment(0),
  };
}

/** A value that a test can recompute from its stream and time. */
export function valueAt(stream: number, atMicroseconds: number): number {
  return Math.sin(atMicroseconds / 7e5 + stream) * 10 ** (stream - 3);
}

/**
 * Puts one second of the usual traffic into a trial: 20 readings of stream 0, 10 of stream 1, their bytes, a
 * port request with its bytes every fifth second.
 */
export function recordSecond(trial: TrialRecorder, second: number): void {
  const begin = second * 1_000_000;
  for (let index = 0; index < 20; index += 1) {
    const at = begin + index * 50_000 + 137;
    const value = valueAt(0, at);
    trial.wire(0, 'in', at, new TextEncoder().encode(`C ${value.toFixed(6)}\r\n`));
    trial.reading(0, at, value);
    if (index % 2 === 0) trial.reading(1, at, valueAt(1, at));
  }
  if (second % 5 === 0) {
    trial.event({
      kind: 'port-requested',
      atMicroseconds: begin + 500_000,
      dwell: second / 5,
      port: 1 + ((second / 5) % 3),
    });
    trial.wire(1, 'out', begin + 500_010, new TextEncoder().encode('GO 1\r'));
    trial.wire(1, 'in', begin + 600_000, new TextEncoder().encode('AT 1\r'));
    trial.event({
      kind: 'port-acknowledged',
      atMicroseconds: begin + 600_000,
      dwell: second / 5,
      port: 1 + ((second / 5) % 3),
    });
  }
}
