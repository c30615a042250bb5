import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['tests/{unit,published,contract,integration}/**/*.test.ts'],
    testTimeout: 20_000,
  },
});
