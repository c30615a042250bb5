import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../drivers/framing/line.ts';
import type { LineFramerFactory } from '../../../src/device/framing.ts';
import { createReadlineFramer } from '../../../src/host/transport/readline-framer.ts';
import { textToBytes } from '../../../src/model/bytes.ts';

type Outcome =
  | { readonly line: string; readonly at: number }
  | { readonly setAside: number; readonly reason: string; readonly at: number };

interface Step {
  readonly text: string;
  readonly then?: 'end' | 'discard';
}

/** Pushes the steps at times 1, 2, 3, … and checks the ledger after each. */
async function trace(
  factory: LineFramerFactory,
  delimiter: string,
  capBytes: number,
  steps: readonly Step[],
): Promise<{ outcomes: Outcome[]; discarded: number; pending: number }> {
  const outcomes: Outcome[] = [];
  let accounted = 0;
  let lines = 0;
  const framer = factory({
    delimiter,
    capBytes,
    onLine(line, at) {
      lines += 1;
      accounted += line.length;
      outcomes.push({ line, at });
    },
    onSetAside(setAside, reason, at) {
      accounted += setAside;
      outcomes.push({ setAside, reason, at });
    },
  });
  let discarded = 0;
  let pushed = 0;
  for (const [index, step] of steps.entries()) {
    framer.push(textToBytes(step.text), index + 1);
    pushed += step.text.length;
    if (step.then === 'end') framer.end(index + 1);
    if (step.then === 'discard') discarded += framer.discardPending();
    // A library may deliver a turn later; nothing may be missing after it.
    await new Promise((resolve) => setImmediate(resolve));
    const delimiters = pushed - accounted - discarded - framer.pendingBytes;
    expect(delimiters).toBeGreaterThanOrEqual(lines * delimiter.length);
    expect(delimiters % delimiter.length).toBe(0);
  }
  return { outcomes, discarded, pending: framer.pendingBytes };
}

const implementations: [string, LineFramerFactory][] = [
  ['pure', createLineFramer],
  ['at the host’s edge', createReadlineFramer],
];

const table: { name: string; delimiter: string; cap: number; steps: Step[]; outcomes: Outcome[] }[] = [
  { name: 'one line', delimiter: '\n', cap: 80, steps: [{ text: 'abc\n' }], outcomes: [{ line: 'abc', at: 1 }] },
  {
    name: 'torn lines carry the stamp of the chunk that completed them',
    delimiter: '\r\n',
    cap: 80,
    steps: [{ text: 'ab' }, { text: 'c\r' }, { text: '\nde' }, { text: '\r\n' }],
    outcomes: [{ line: 'abc', at: 3 }, { line: 'de', at: 4 }],
  },
  {
    name: 'several lines in one chunk share its stamp',
    delimiter: '\n',
    cap: 80,
    steps: [{ text: 'a\nb\nc\n' }],
    outcomes: [{ line: 'a', at: 1 }, { line: 'b', at: 1 }, { line: 'c', at: 1 }],
  },
  { name: 'empty lines are delimiters only', delimiter: '\n', cap: 80, steps: [{ text: '\n\na\n\n' }],
    outcomes: [{ line: 'a', at: 1 }] },
  { name: 'a lone half delimiter belongs to the line', delimiter: '\r\n', cap: 80, steps: [{ text: 'a\rb\r\r\n' }],
    outcomes: [{ line: 'a\rb\r', at: 1 }] },
  { name: 'every byte value survives', delimiter: '\n', cap: 300,
    steps: [{ text: '\u0000\u007f\u0080\u00e9\u00ff\n' }],
    outcomes: [{ line: '\u0000\u007f\u0080\u00e9\u00ff', at: 1 }] },
  { name: 'a line of exactly the cap', delimiter: '\r\n', cap: 3, steps: [{ text: 'abc\r' }, { text: '\n' }],
    outcomes: [{ line: 'abc', at: 2 }] },
  { name: 'one byte more', delimiter: '\n', cap: 3, steps: [{ text: 'abcd\nef\n' }],
    outcomes: [{ setAside: 4, reason: 'too-long', at: 1 }, { line: 'ef', at: 1 }] },
  { name: 'set aside in pieces while it grows', delimiter: '\n', cap: 3,
    steps: [{ text: 'abcd' }, { text: 'e' }, { text: 'fghij' }, { text: 'k\nok\n' }],
    outcomes: [
      { setAside: 4, reason: 'too-long', at: 1 },
      { setAside: 6, reason: 'too-long', at: 3 },
      { setAside: 1, reason: 'too-long', at: 4 },
      { line: 'ok', at: 4 },
    ] },
  { name: 'the end of the stream', delimiter: '\n', cap: 80, steps: [{ text: 'a\nbc', then: 'end' }],
    outcomes: [{ line: 'a', at: 1 }, { setAside: 2, reason: 'incomplete', at: 1 }] },
  { name: 'the end with nothing pending', delimiter: '\n', cap: 80, steps: [{ text: 'a\n', then: 'end' }],
    outcomes: [{ line: 'a', at: 1 }] },
  { name: 'a discarded part is gone and a new line begins', delimiter: '\n', cap: 80,
    steps: [{ text: 'old', then: 'discard' }, { text: 'new\n' }], outcomes: [{ line: 'new', at: 2 }] },
];

describe.each(implementations)('line framer, %s', (_name, factory) => {
  it.each(table)('$name', async ({ delimiter, cap, steps, outcomes }) => {
    expect((await trace(factory, delimiter, cap, steps)).outcomes).toEqual(outcomes);
  });

  it('reports a stream without delimiter at once and keeps at most the cap', async () => {
    let setAside = 0;
    const framer = factory({
      delimiter: '\n',
      capBytes: 100,
      onLine: () => undefined,
      onSetAside: (count) => {
        setAside += count;
      },
    });
    for (let index = 0; index < 1000; index += 1) {
      framer.push(new Uint8Array(1000).fill(65), index);
      expect(framer.pendingBytes).toBeLessThanOrEqual(100);
    }
    expect(setAside + framer.pendingBytes).toBe(1_000_000);
  });

  it('survives a listener that ends the stream in the middle of a chunk', () => {
    const outcomes: string[] = [];
    const framer = factory({
      delimiter: '\n',
      capBytes: 10,
      onLine(line) {
        outcomes.push(line);
        framer.end(1);
      },
      onSetAside: (count, reason) => outcomes.push(`${count} ${reason}`),
    });
    framer.push(textToBytes('a\nb\nc'), 1);
    framer.push(textToBytes('d\n'), 2);
    expect(outcomes).toEqual(['a', '3 incomplete', 'd']);
  });

  it.each([['', 10], ['abc', 10], ['\u0100', 10], ['\n', 0], ['\n', 65_537], ['\n', 1.5], ['\n', Number.NaN]])(
    'refuses the delimiter %j with the cap %d',
    (delimiter, capBytes) => {
      expect(() =>
        factory({ delimiter, capBytes, onLine: () => undefined, onSetAside: () => undefined }),
      ).toThrow(RangeError);
    },
  );
});

describe('both line framers', () => {
  it('agree on lines, stamps and accounting for any bytes in any chunks', async () => {
    const alphabet = fc.constantFrom('\r', '\n', 'a', 'b', '\u00ff', '\u0000');
    const step = fc.record({
      text: fc.string({ unit: alphabet, maxLength: 12 }),
      then: fc.constantFrom(undefined, undefined, undefined, 'end' as const, 'discard' as const),
    });
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom('\n', '\r', '\r\n', '\n\n', 'ab'),
        fc.integer({ min: 1, max: 9 }),
        fc.array(step, { maxLength: 12 }),
        async (delimiter, cap, drawn) => {
          const steps: Step[] = drawn.map(({ text, then }) => (then === undefined ? { text } : { text, then }));
          const pure = await trace(createLineFramer, delimiter, cap, steps);
          expect(await trace(createReadlineFramer, delimiter, cap, steps)).toEqual(pure);
        },
      ),
      { numRuns: 500 },
    );
  });
});
