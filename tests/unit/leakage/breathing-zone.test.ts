import { describe, expect, it } from 'vitest';
import { assess, assessWithWorkings } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { notApplied } from '../../../src/leakage/not-applied.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { rigSchema } from '../../../src/model/rig.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';
import { withFlow as flowOf } from '../../support/with-flow.ts';

const breath = { probes: ['chest', 'ankle'], seconds: 3.7, inspired: 0.42 };
const trial = syntheticTrial({ noise: 1e-6, breath, burst: 0, wave: 0.1 });
const cellsOf = (record: TrialRecord, method = firstMethod) =>
  assess(record, method).cells.filter(({ probe }) => breath.probes.includes(probe));

const withFlow = (change: Parameters<typeof flowOf>[1]): TrialRecord => flowOf(trial.record, change);

/** Where the first window of the ankle's air left the probe, s. */
const [ankle] = cellsOf(trial.record).filter(({ probe }) => probe === 'ankle');
const seenFrom = (ankle?.parts[0]?.reading?.probeFromMicroseconds ?? 0) / 1e6;

describe('a probe in the breathing zone', () => {
  it('is told as the mean of what was breathed in, on the time at the probe', () => {
    for (const cell of cellsOf(trial.record)) {
      const { reading } = cell.parts[0] ?? {};
      const from = reading?.probeFromMicroseconds ?? Number.NaN;
      const to = reading?.probeToMicroseconds ?? Number.NaN;
      const truth = trial.truthPercent(cell.probe, from, to);
      expect(Math.abs((cell.windowPercent ?? 0) / truth - 1)).toBeLessThan(0.02);
      expect(cell.flags).toEqual([]);
    }
  });

  it('is computed from the share of its own window, which hardly ever is that of a whole breath', () => {
    const factors = cellsOf(trial.record).map(({ parts }) => parts[0]?.breathing?.factor ?? 0);
    for (const factor of factors) expect(Math.abs(factor * breath.inspired - 1)).toBeLessThan(0.25);
    expect(Math.max(...factors) - Math.min(...factors)).toBeGreaterThan(0.1);
    for (const { parts } of cellsOf(trial.record)) {
      const { expiredSeconds = 0, factor, inspiredSeconds = 1 } = parts[0]?.breathing ?? {};
      expect(factor).toBeCloseTo((inspiredSeconds + expiredSeconds) / inspiredSeconds, 12);
    }
  });

  it('leaves every other probe as it was, bit for bit', () => {
    const { record } = trial;
    const ports = record.rig.ports.map(({ breathingZone: _zone, ...port }) => port);
    const plain = assess({ ...record, rig: { ...record.rig, ports } }, firstMethod);
    const others = (all: typeof plain) =>
      all.cells
        .filter(({ probe }) => !breath.probes.includes(probe))
        .map(({ detectionLimitPercent, parts, windowPercent, windowStandardPercent }) => ({
          ...{ detectionLimitPercent, parts, windowPercent },
          windowStandardPercent,
        }));
    expect(others(assess(trial.record, firstMethod))).toEqual(others(plain));
  });

  it('has a line of its own in the budget, and a wider interval than without', () => {
    for (const { budget, windowPercent } of cellsOf(trial.record)) {
      const line = budget.find((one) => one.line === 'breathing');
      expect(line?.standardPercent).toBeGreaterThan(0);
      expect(line?.standardPercent).toBeLessThan(0.05 * (windowPercent ?? 0));
    }
  });

  it('is not corrected by a method that does not, which says so', () => {
    const method = { ...firstMethod, applyBreathingZone: false };
    for (const { parts } of cellsOf(trial.record, method)) expect(parts[0]?.breathing).toBeUndefined();
    expect(notApplied(trial.record.rig, method)).toEqual(['what is breathed out at chest, ankle']);
    expect(notApplied(trial.record.rig, firstMethod)).toEqual([]);
  });
});

describe('what keeps it from being told', () => {
  it.each([
    ['no flow at all', () => null],
    ['a silence in the window', (at: number, flow: number) => (at > seenFrom + 2 && at < seenFrom + 3 ? null : flow)],
    ['a flow that ends before it', (at: number, flow: number) => (at < seenFrom - 1 ? flow : null)],
    ['nobody who breathes', () => 0],
    // Every reading farther from the next than a breath may hide: no stretch has ten.
    ['a flow read three times a second', (at: number, flow: number) => (Math.round(at * 100) % 33 === 0 ? flow : null)],
  ])('%s leaves no number and says so', (_, change) => {
    const [cell] = cellsOf(withFlow(change)).filter(({ probe }) => probe === 'ankle');
    expect(cell?.windowPercent).toBeNull();
    expect(cell?.flags).toContain('no-breathing');
    expect(cell?.flags).not.toContain('no-reference');
  });

  it('a breath that lasts longer than any keeps its number, with a flag', () => {
    // Breath is held in the middle of the window for 16 s, the flow still moving a little outward.
    const held = withFlow((at, flow) => (at > seenFrom + 4 && at < seenFrom + 20 ? -2 : flow));
    const [cell] = cellsOf(held).filter(({ probe }) => probe === 'ankle');
    expect(cell?.windowPercent).not.toBeNull();
    expect(cell?.flags).toContain('breathing-doubtful');
  });

  it.each([
    ['has one value for three seconds', (flow: number, at: number) => (at < seenFrom + 6 ? 12 : flow), 'one value'],
    ['hardly moves for six', (flow: number, at: number) => (at < seenFrom + 9 ? Math.sin(at * 50) : flow), 'hardly'],
  ])('a flow that %s keeps its number, with a flag', (_, change, found) => {
    const odd = withFlow((at, flow) => (at > seenFrom + 3 ? change(flow, at) : flow));
    const cell = assessWithWorkings(odd, firstMethod).cells.find(({ shown }) => shown.probe === 'ankle');
    expect(cell?.shown.windowPercent).not.toBeNull();
    const doubts = cell?.doubts.filter(({ flag }) => flag === 'breathing-doubtful') ?? [];
    expect(doubts.map((one) => one.found).join()).toContain(found);
  });

  it('what no breath can be is no reading: long ago or for a moment it is passed over, else it is a silence', () => {
    const [plain] = cellsOf(trial.record).filter(({ probe }) => probe === 'ankle');
    const wrong = (seconds: number) => (at: number, flow: number) =>
      at > seenFrom + 2 && at < seenFrom + 2 + seconds ? -999 : flow;
    const [moment] = cellsOf(withFlow(wrong(0.1))).filter(({ probe }) => probe === 'ankle');
    expect(moment?.flags).toEqual([]);
    expect(Math.abs((moment?.windowPercent ?? 0) / (plain?.windowPercent ?? 1) - 1)).toBeLessThan(0.01);
    const [longer] = cellsOf(withFlow(wrong(0.5))).filter(({ probe }) => probe === 'ankle');
    expect(longer?.windowPercent).toBeNull();
    expect(longer?.flags).toContain('no-breathing');
  });

  it('a method that does not correct the lag is told of it', () => {
    for (const { flags } of cellsOf(trial.record, { ...firstMethod, lagCorrection: false })) {
      expect(flags).toContain('breathing-doubtful');
    }
  });

  it('a silence elsewhere is none', () => {
    const [cell] = cellsOf(withFlow((at, flow) => (at > seenFrom - 25 && at < seenFrom - 24 ? null : flow))).filter(
      ({ probe }) => probe === 'ankle',
    );
    expect(cell?.flags).toEqual([]);
  });
});

describe('a rig with a probe in the breathing zone', () => {
  const problems = (rig: unknown): string[] =>
    rigSchema.safeParse(rig).error?.issues.map(({ message, path }) => `${path.join('.')}: ${message}`) ?? [];

  it('has one instrument that gives the flow', () => {
    const { rig } = trial.record;
    expect(problems(rig)).toEqual([]);
    const without = { ...rig, instruments: rig.instruments.filter(({ kind }) => kind !== 'breathing') };
    const found = 'needs exactly one instrument of the kind breathing in the rig, which gives the flow of breath';
    expect(problems(without)).toEqual([`ports.1.breathingZone: ${found}`, `ports.4.breathingZone: ${found}`]);
  });

  it('has only probes there', () => {
    const { rig } = trial.record;
    const ports = rig.ports.map((port) => (port.role === 'reference' ? { ...port, breathingZone: true } : port));
    expect(problems({ ...rig, ports })).toEqual(['ports.5.breathingZone: only a probe can lie in the breathing zone']);
  });
});
