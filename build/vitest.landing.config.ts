import { defineConfig } from 'vitest/config';

/** The landing tier: many seeds, storms and kills; one file at a time, so that nothing disturbs a measured time. */
export default defineConfig({
  root: new URL('..', import.meta.url).pathname,
  test: {
    name: 'landing',
    include: ['tests/landing/**/*.test.ts'],
    testTimeout: 900_000,
    hookTimeout: 60_000,
    maxWorkers: 1,
  },
});
