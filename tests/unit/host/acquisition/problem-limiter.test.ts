import { describe, expect, it } from 'vitest';
import { createProblemLimiter } from '../../../../src/host/acquisition/problem-limiter.ts';
import type { Problem } from '../../../../src/model/reading.ts';

function problem(code: Problem['code'], byteCount: number, instrument = 'photometer'): Problem {
  return { instrument, atMicroseconds: 1_000, code, detail: 'a line', byteCount };
}

describe('problem limiter', () => {
  it('passes a few and adds the rest up without losing a byte', () => {
    const emitted: Problem[] = [];
    const limiter = createProblemLimiter({ passPerSecond: 3, emit: (entry) => emitted.push(entry) });
    for (let index = 0; index < 100; index += 1) limiter.add(problem('line-undecodable', 7));
    expect(emitted).toHaveLength(3);
    limiter.flush(2_000_000);
    expect(emitted).toHaveLength(4);
    expect(emitted.reduce((sum, entry) => sum + entry.byteCount, 0)).toBe(700);
    expect(emitted[3]?.detail).toContain('97 more');
    expect(emitted[3]?.atMicroseconds).toBe(2_000_000);
  });

  it('counts instruments and codes apart and begins anew after a flush', () => {
    const emitted: Problem[] = [];
    const limiter = createProblemLimiter({ passPerSecond: 1, emit: (entry) => emitted.push(entry) });
    limiter.add(problem('line-undecodable', 1));
    limiter.add(problem('checksum-wrong', 2));
    limiter.add(problem('line-undecodable', 4, 'belt'));
    expect(emitted).toHaveLength(3);
    limiter.flush(1_000_000);
    expect(emitted).toHaveLength(3);
    limiter.add(problem('line-undecodable', 8));
    expect(emitted).toHaveLength(4);
  });
});
