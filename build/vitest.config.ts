import { defineConfig } from 'vitest/config';
import { inMemory } from './memory-folder.mjs';

const root = new URL('..', import.meta.url).pathname;

const named = (folder: string, names: readonly string[]): string[] =>
  names.map((name) => `tests/${folder}/${name}.test.ts`);

/** What lives in real time and mostly waits: two files share two processors and are not in each other's way. */
const realTime = named('integration', [
  'runtime-trial',
  'runtime-desk',
  'runtime-replay',
  'subject-stop',
  'more-instruments',
  'rig-process',
]);

/** What looks at time to the millisecond, or at a disk that gives out, and wants the machine for itself. */
const alone = named('integration', ['bench', 'rehearsal-disk']);

const limits = { testTimeout: 180_000, hookTimeout: 60_000 };

/**
 * The always tier, in groups that follow each other: what needs nothing, what lives in real time, what computes, what
 * drives a browser, what wants to be alone. Files of the third and fourth lie in memory where there is room; all others
 * go to the disk.
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
        test: { name: 'real-time', include: realTime, ...limits, maxWorkers: 2, sequence: { groupOrder: 1 } },
      },
      {
        root,
        test: {
          name: 'integration',
          include: ['tests/integration/**/*.test.ts'],
          exclude: [...realTime, ...alone],
          env: inMemory(),
          ...limits,
          maxWorkers: 2,
          sequence: { groupOrder: 2 },
        },
      },
      {
        root,
        test: {
          name: 'end-to-end',
          include: ['tests/end-to-end/**/*.test.ts'],
          env: inMemory(),
          ...limits,
          maxWorkers: 2,
          sequence: { groupOrder: 3 },
        },
      },
      {
        root,
        test: { name: 'alone', include: alone, ...limits, maxWorkers: 1, sequence: { groupOrder: 4 } },
      },
    ],
  },
});
