import { afterAll, describe, expect, it } from 'vitest';
import { faults } from './faults.ts';
import type { Phase } from './on-the-wire.ts';
import { rowOrReason, tableOf, type Fault, type FaultRow } from './row.ts';

/** The tests of a tier: each fault so many times. What a machine does not let happen is named with its reason. */
export function surviveFaults(times: number, inPhases?: readonly Phase[]): void {
  const rows: FaultRow[] = [];
  const named = faults(inPhases).map((fault): [string, Fault] => [fault.fault, fault]);
  afterAll(() => console.log(tableOf(rows)));

  describe('what can go wrong is survived, cheap, and told in time', () => {
    it.each(named)('%s', { timeout: 600_000 * times }, async (_name, fault) => {
      const row = await rowOrReason(fault, times);
      rows.push(row);
      // Named with its reason in the table below.
      if (row.verdict === 'not tried') return;
      expect(row.notes).toEqual([]);
      expect(row).toMatchObject({ verdict: 'survived', survived: row.tried });
    });
  });
}
