import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import type { Assessment } from '../../../src/leakage/assessment.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { record, withEvents } from '../../support/spoiled-trial.ts';

const lateMicroseconds = 400_000;

/** Where the window of every dwell of every cell begins, µs. */
const begins = ({ cells }: Assessment): (number | undefined)[] =>
  cells.flatMap(({ parts }) => parts.map(({ reading }) => reading?.arrivalFromMicroseconds));

describe('the time that the valve acknowledged', () => {
  const asRecorded = assess(record, firstMethod);

  it('decides where a window begins', () => {
    const late = withEvents((events) =>
      events.map((event) =>
        event.kind === 'port-acknowledged' && event.dwell > 0
          ? { ...event, atMicroseconds: event.atMicroseconds + lateMicroseconds }
          : event,
      ),
    );
    const before = begins(asRecorded);
    const after = begins(assess(late, firstMethod));
    expect(before.length).toBeGreaterThan(10);
    for (const [index, at] of before.entries()) {
      expect((after[index] ?? Number.NaN) - (at ?? Number.NaN)).toBe(lateMicroseconds);
    }
  });

  it('enters the result, and the planned time does not', () => {
    const planned = withEvents((events) =>
      events.map((event) =>
        event.kind === 'dwell-began'
          ? { ...event, plannedAtMicroseconds: event.plannedAtMicroseconds + 7 * lateMicroseconds }
          : event,
      ),
    );
    expect(assess(planned, firstMethod)).toEqual(asRecorded);
  });
});
