import { describe, expect, it } from 'vitest';
import { bytesPerRow } from '../../../../renderer/rig/wire/wire-list.tsx';
import { createWireLines, mostLines } from '../../../../renderer/rig/wire/wire-lines.ts';
import type { WireEntry } from '../../../../src/bridge/wire.ts';

const bytes = (number: number, atMicroseconds: number, direction: 'in' | 'out', hex = '41'): WireEntry => ({
  entry: 'bytes',
  number,
  atMicroseconds,
  direction,
  hex,
});

describe('the rows that a window keeps of a wire', () => {
  it('say how long after the one before in the same direction each came, and begin anew after a gap', () => {
    const kept = createWireLines();
    expect(kept.after).toBeNull();
    kept.add({ entries: [bytes(1, 0, 'in'), bytes(2, 10, 'out'), bytes(3, 50, 'in', '410a42')], missed: 0 }, 8);
    kept.add({ entries: [bytes(9, 90, 'in')], missed: 5 }, 8);
    expect(kept.after).toBe(9);
    const since = kept.lines.map((line) => (line.row === 'missed' ? `missed ${line.count}` : line.sinceMicroseconds));
    expect(since).toEqual([null, null, 50, null, 'missed 5', null]);
  });

  it('are bounded, and each list stays as it was once it has been shown', () => {
    const kept = createWireLines();
    kept.add({ entries: [bytes(1, 0, 'in')], missed: 0 }, 8);
    const shown = kept.lines;
    for (let number = 2; number <= 3 * mostLines; number += 1) {
      kept.add({ entries: [bytes(number, number, 'in')], missed: 0 }, 8);
    }
    expect(shown).toHaveLength(1);
    expect(kept.lines.length).toBeLessThanOrEqual(mostLines);
    expect(kept.lines.at(-1)).toMatchObject({ number: 3 * mostLines });
    expect(kept.add({ entries: [], missed: 0 }, 8)).toBe(false);
  });

  it('have room for as many bytes as the window is wide', () => {
    expect([10, 80, 150, 400].map(bytesPerRow)).toEqual([8, 8, 28, 48]);
  });
});
