import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';
import type { Plugin } from 'vite';

const root = new URL('../renderer', import.meta.url).pathname;

/**
 * A package of the distributions asks by `eval` whether there are generators. The policy of the page refuses that: a
 * violation, although the package lives with it. The answer is known here.
 */
const noProbeByEval: Plugin = {
  name: 'no-probe-by-eval',
  enforce: 'pre',
  load: (id) =>
    id.endsWith('/@stdlib/assert-has-generator-support/lib/main.js') ? 'module.exports = () => true;' : null,
};

/** The screens, as files that a door can serve under a strict policy: nothing inline, nothing from elsewhere. */
export default defineConfig({
  root,
  base: './',
  plugins: [noProbeByEval, react()],
  logLevel: 'warn',
  build: {
    outDir: new URL('out/renderer', import.meta.url).pathname,
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: 'es2023',
    sourcemap: true,
    // Loopback and disk: one file of a few hundred kilobytes is no burden.
    chunkSizeWarningLimit: 2_000,
  },
  worker: { format: 'es' },
});
