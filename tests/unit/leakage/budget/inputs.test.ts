import { beforeAll, describe, expect, it } from 'vitest';
import { assess, assessWithWorkings } from '../../../../src/leakage/assess.ts';
import type { Workings } from '../../../../src/leakage/assess.ts';
import { weightedContributions } from '../../../../src/leakage/budget/contribution.ts';
import { firstMethod } from '../../../../src/leakage/default-method.ts';
import type { Rig } from '../../../../src/model/rig.ts';
import type { TrialRecord } from '../../../../src/model/trial-record.ts';
import { syntheticTrial } from '../../../support/synthetic-trial.ts';

/**
 * Every sensitivity of the budget against what really happens: the input is changed in the record or the rig, the
 * trial is assessed again, and the change of the value must be what the budget says it would be.
 */
const { record } = syntheticTrial({ seed: 5, exercises: 4 });
let workings: Workings;
beforeAll(() => {
  workings = assessWithWorkings(record, firstMethod);
});

const values = (of: TrialRecord): number[] =>
  assess(of, firstMethod).cells.map(({ windowPercent }) => windowPercent ?? Number.NaN);

function withRig(change: (rig: Rig) => Rig): TrialRecord {
  return { ...record, rig: change(record.rig) };
}

/** All readings of one dwell's window raised by as much. */
function withReading(dwell: number, by: number): TrialRecord {
  const read = [
    ...workings.inputs.zeros.map((anchor) => anchor.dwell),
    ...workings.inputs.references.map((anchor) => anchor.dwell),
    ...[...workings.inputs.backgrounds.values()].map((background) => background.dwell),
    ...workings.cells.flatMap(({ parts }) => parts.flatMap(({ held }) => (held === null ? [] : [held.dwell]))),
  ].find(({ recorded }) => recorded.dwell.dwell === dwell);
  const [photometer, ...others] = record.streams;
  if (read === undefined || photometer === undefined) throw new Error(`dwell ${dwell} was not read`);
  const changed = photometer.values.slice();
  for (let index = read.span.first; index < read.span.end; index += 1) changed[index] = (changed[index] as number) + by;
  return { ...record, streams: [{ ...photometer, values: changed }, ...others] };
}

/** The record with one input of the budget raised by a little. */
function changed(input: string, by: number): TrialRecord | null {
  const [what = '', which = ''] = input.split(' ');
  const raised = (stated: { value: number; standardUncertainty: number }) => ({ ...stated, value: stated.value + by });
  const port = (change: (one: Rig['ports'][number]) => Rig['ports'][number]): TrialRecord =>
    withRig((rig) => ({ ...rig, ports: rig.ports.map((one) => (one.port === Number(which) ? change(one) : one)) }));
  switch (what) {
    case 'reading':
      return withReading(Number(which), by);
    case 'dilution':
      return port((one) => ({ ...one, dilution: raised(one.dilution) }));
    case 'penetration':
      return port((one) => ({ ...one, penetration: raised(one.penetration) }));
    case 'spatial-factor':
      return withRig((rig) => ({ ...rig, spatialFactor: raised(rig.spatialFactor) }));
    case 'time-constant':
      return withRig((rig) => ({ ...rig, timeConstantSeconds: raised(rig.timeConstantSeconds) }));
    default:
      return null;
  }
}

describe('the budget of a trial', () => {
  it('has inputs of every kind; below all are tried but transit, drift and the course of the challenge', () => {
    const inputs = new Set(workings.cells.flatMap(({ contributions }) => [...(contributions?.keys() ?? [])]));
    const kinds = new Set([...inputs].map((input) => input.split(' ')[0]));
    const certificates = ['dilution', 'penetration', 'spatial-factor', 'time-constant', 'transit'];
    for (const kind of ['reading', 'challenge', ...certificates]) expect([...kinds]).toContain(kind);
    const untried = [...kinds].filter((kind) => changed(`${kind ?? ''} 1`, 0) === null);
    expect(untried.filter((kind) => !['transit', 'challenge', 'zero'].includes(kind ?? ''))).toEqual([]);
  });

  it('says of every input what a change of it does to every value', () => {
    const before = values(record);
    const every = workings.cells.flatMap(({ contributions }) => [...(contributions?.values() ?? [])]);
    const inputs = new Map(every.map((one) => [one.input, one]));
    let compared = 0;
    for (const { input, standardUncertainty } of inputs.values()) {
      // A hundredth of its uncertainty: small enough that the value changes in proportion.
      const by = standardUncertainty / 100;
      const other = changed(input, by);
      if (other === null) continue;
      const after = values(other);
      for (const [index, cell] of workings.cells.entries()) {
        const expected = (cell.contributions?.get(input)?.sensitivity ?? 0) * by;
        const actual = (after[index] as number) - (before[index] as number);
        // One part in a thousand of what the input does at all, or of nothing that anybody could see.
        const least = 1e-6 * (cell.shown.windowStandardPercent ?? 0);
        expect(Math.abs(actual - expected), `${input}: ${cell.shown.exercise} ${cell.shown.probe}`).toBeLessThan(
          1e-3 * Math.abs(expected) + least,
        );
        compared += 1;
      }
    }
    expect(compared).toBeGreaterThan(20 * workings.cells.length);
  }, 60_000);

  it('says of the transit what a window a little later reads', () => {
    const before = values(record);
    for (const by of [0.05, -0.05]) {
      const later = values(
        withRig((rig) => ({
          ...rig,
          commonTransitSeconds: { ...rig.commonTransitSeconds, value: rig.commonTransitSeconds.value + by },
        })),
      );
      for (const [index, cell] of workings.cells.entries()) {
        const expected = (cell.contributions?.get('transit common')?.sensitivity ?? 0) * by;
        const actual = (later[index] as number) - (before[index] as number);
        // Bursts make the course of the concentration curved: half of the change, and the noise of one reading.
        expect(Math.abs(actual - expected)).toBeLessThan(
          0.5 * Math.abs(expected) + 0.6 * (cell.shown.windowStandardPercent ?? 0),
        );
      }
    }
  });

  it('combines means by input, so that what cells share is counted once', () => {
    const { assessment, cells } = workings;
    for (const mean of [...assessment.probes, assessment.overall]) {
      const own = cells.filter(({ shown }) => !('probe' in mean) || shown.probe === mean.probe);
      const gathered = weightedContributions(
        own.map(({ contributions }) => ({ weight: 1 / own.length, contributions: contributions ?? new Map() })),
      );
      let variance = 0;
      for (const { sensitivity, standardUncertainty } of gathered.values())
        variance += (sensitivity * standardUncertainty) ** 2;
      expect(mean.windowStandardPercent ?? 0).toBeCloseTo(Math.sqrt(variance), 12);
      const asIfIndependent = Math.sqrt(
        own.reduce((sum, { shown }) => sum + ((shown.windowStandardPercent ?? 0) / own.length) ** 2, 0),
      );
      expect(mean.windowStandardPercent ?? 0).toBeGreaterThan(1.15 * asIfIndependent);
    }
    // The spatial factor and the reference's own line concern every cell alike: 1 % and 1 % and 0.3 %.
    expect((assessment.overall.windowStandardPercent ?? 0) / (assessment.overall.windowPercent ?? 1)).toBeGreaterThan(
      0.0145,
    );
  });
});
