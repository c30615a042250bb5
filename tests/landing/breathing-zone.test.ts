import { writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Scenario } from '../../drivers/virtual-rig/scenario.ts';
import { scenarios } from '../../drivers/virtual-rig/scenarios/index.ts';
import { firstMethod } from '../../src/leakage/default-method.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { coverageOf, knownTrial, recover } from '../support/truth-recovery.ts';
import type { KnownTrial, Recovered } from '../support/truth-recovery.ts';

const seeds = 6;
const folder = temporaryFolder();
const trials: KnownTrial[] = [];
afterAll(() => folder.clear());

/** Every probe where the subject breathes: most of them read far above the noise, which would else hide the breath. */
const everywhere: Scenario = {
  ...scenarios['breathing-zone'],
  rig: {
    ...scenarios['breathing-zone'].rig,
    ports: scenarios['breathing-zone'].rig.ports.map((port) =>
      port.role === 'probe' ? { ...port, breathingZone: true } : port,
    ),
  },
};

beforeAll(async () => {
  const file = folder.file('everywhere.json');
  writeFileSync(file, JSON.stringify(everywhere));
  for (let seed = 1; seed <= seeds; seed += 1) {
    const words = ['--scenario', file, '--seed', String(seed), '--speed', '5000'];
    trials.push(await knownTrial(folder.file(`zone-${seed}.chamberside`), ...words));
  }
}, 600_000);

const all = (recovered: readonly Recovered[]) => recovered.flatMap(({ cells, flagged }) => [...cells, ...flagged]);
const rms = (values: readonly number[]): number => Math.hypot(...values) / Math.sqrt(values.length);
const bias = (recovered: readonly Recovered[]): number => {
  const large = all(recovered).filter(({ standard, value }) => standard < 0.1 * Math.abs(value));
  return large.reduce((sum, { truth, value }) => sum + value / truth - 1, 0) / large.length;
};

/** The flow of breath as if its instrument's lines came so much later. */
function later(record: TrialRecord, seconds: number): TrialRecord {
  const streams = record.streams.map((stream) =>
    stream.descriptor.instrument === 'breath'
      ? { ...stream, atMicroseconds: stream.atMicroseconds.map((at) => at + seconds * 1e6) }
      : stream,
  );
  return { ...record, streams };
}

describe('probes in the breathing zone', () => {
  it('are told as what the subject breathed in, within the stated intervals', () => {
    const recovered = trials.map((trial) => recover(trial));
    const cells = recovered.flatMap((one) => one.cells);
    const z = cells.map(({ standard, truth, value }) => Math.max(-5, Math.min(5, (value - truth) / standard)));
    console.log(
      `${cells.length} of ${all(recovered).length} values unflagged, covered ${coverageOf(cells)}, rms z ` +
        `${rms(z).toFixed(2)}, bias ${(100 * bias(recovered)).toFixed(2)} %`,
    );
    expect(cells.length).toBeGreaterThan(0.98 * seeds * 50);
    expect(coverageOf(cells)).toBeGreaterThan(0.9);
    expect(rms(z)).toBeGreaterThan(0.7);
    expect(rms(z)).toBeLessThan(1.3);
    expect(Math.abs(bias(recovered))).toBeLessThan(0.02);
  });

  it('read less than half without the correction', () => {
    const recovered = trials.map((trial) => recover(trial, { ...firstMethod, applyBreathingZone: false }));
    expect(bias(recovered)).toBeLessThan(-0.5);
    expect(coverageOf(all(recovered))).toBeLessThan(0.1);
  });

  it('are not covered where breath and reading are not on one time', () => {
    const recovered = trials.map((trial) => recover(trial, firstMethod, (record) => later(record, 1.5)));
    expect(coverageOf(all(recovered))).toBeLessThan(0.8);
  });
});
