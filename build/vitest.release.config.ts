import { defineConfig } from 'vitest/config';

/** The release tier: full counts, soak and real-time runs; hours. */
export default defineConfig({
  root: new URL('..', import.meta.url).pathname,
  test: {
    name: 'release',
    include: ['tests/release/**/*.test.ts'],
    testTimeout: 14_400_000,
    hookTimeout: 60_000,
    maxWorkers: 1,
  },
});
