import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import type { CheckRecord } from '../../../src/calibration/check/step.ts';
import type { CheckKind } from '../../../src/calibration/check/vocabulary.ts';
import type { Rig } from '../../../src/model/rig.ts';
import { virtualCheck } from '../checks/virtual-check.ts';
import { madeUpChecks } from './made-up.ts';

type Kept = Snapshot['rig']['checks']['results'][number];

const conditions = ['routine', 'as-left', 'as-found', 'routine'] as const;

/** The newest of a check, and three earlier ones; the one as found had failed. */
export function madeUpHistory(results: readonly Kept[], check: CheckKind, subject: string | null): Kept[] {
  const newest = results.find(({ result }) => result.check === check && result.subject === subject);
  if (newest === undefined) return [];
  return conditions.map((condition, age) => {
    if (age === 0) return newest;
    const failed = condition === 'as-found';
    const figures = newest.result.figures.map((one) => ({
      ...one,
      value: one.value === null ? null : one.value * (failed ? 1.3 : 1 + 0.01 * age),
      passed: one.passed && !(failed && one.low !== null),
    }));
    const madeAtMilliseconds = newest.madeAtMilliseconds - age * 7 * 86_400_000;
    const at = new Date(madeAtMilliseconds).toISOString();
    return {
      ...newest,
      number: 100 * age + newest.number,
      madeAtMilliseconds,
      result: { ...newest.result, condition, at, figures, passed: !failed },
    };
  });
}

/** What a check of the made-up ones was judged on: made on the virtual rig. @param number of the check, below 100. */
export async function madeUpGround(number: number): Promise<{ rig: Rig; record: CheckRecord } | null> {
  const result = madeUpChecks.find((one) => one.number === number)?.result;
  if (result === undefined) return null;
  const { check, subject } = result;
  const { record } = await virtualCheck({ scenario: demo, seed: 3, check, subject, readSeconds: 4 });
  return { rig: demo.rig, record };
}
