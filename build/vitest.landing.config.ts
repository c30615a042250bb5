import { defineConfig } from 'vitest/config';
import { inMemory } from './memory-folder.mjs';

const root = new URL('..', import.meta.url).pathname;

/** Whole trials of virtual time, whose files are read once: they may lie in memory. */
const simulations = ['breathing-zone', 'settling', 'truth', 'truth-recovery'].map(
  (name) => `tests/landing/${name}.test.ts`,
);

const limits = { testTimeout: 900_000, hookTimeout: 60_000, maxWorkers: 1 };

/** The landing tier: many seeds, storms and kills; one file at a time, so that nothing disturbs a measured time. */
export default defineConfig({
  root,
  test: {
    projects: [
      {
        root,
        test: {
          name: 'landing',
          include: ['tests/landing/**/*.test.ts'],
          exclude: simulations,
          ...limits,
          sequence: { groupOrder: 0 },
        },
      },
      {
        root,
        test: {
          name: 'simulations',
          include: simulations,
          env: inMemory(),
          ...limits,
          sequence: { groupOrder: 1 },
        },
      },
    ],
  },
});
