import { defineConfig } from 'vitest/config';

const root = new URL('..', import.meta.url).pathname;

/** What lives in real time and mostly waits: two files share two processors and are not in each other's way. */
const realTime = ['wires', 'runtime-trial', 'runtime-desk', 'rig-process'].map(
  (name) => `tests/integration/${name}.test.ts`,
);

/**
 * The always tier. What opens real ports and starts processes runs after the rest and one file at a time, but for
 * what mostly waits.
 */
export default defineConfig({
  root,
  test: {
    projects: [
      {
        root,
        test: {
          name: 'quick',
          include: ['tests/{unit,published,contract}/**/*.test.ts'],
          testTimeout: 20_000,
          sequence: { groupOrder: 0 },
        },
      },
      {
        root,
        test: {
          name: 'real-time',
          include: realTime,
          testTimeout: 180_000,
          hookTimeout: 60_000,
          maxWorkers: 2,
          sequence: { groupOrder: 1 },
        },
      },
      {
        root,
        test: {
          name: 'integration',
          include: ['tests/integration/**/*.test.ts'],
          exclude: realTime,
          testTimeout: 180_000,
          hookTimeout: 60_000,
          maxWorkers: 1,
          sequence: { groupOrder: 2 },
        },
      },
      {
        root,
        test: {
          name: 'end-to-end',
          include: ['tests/end-to-end/**/*.test.ts'],
          testTimeout: 180_000,
          hookTimeout: 60_000,
          maxWorkers: 1,
          sequence: { groupOrder: 3 },
        },
      },
    ],
  },
});
