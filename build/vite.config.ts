import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

const root = new URL('../renderer', import.meta.url).pathname;

/** The screens, as files that a door can serve under a strict policy: nothing inline, nothing from elsewhere. */
export default defineConfig({
  root,
  base: './',
  plugins: [react()],
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
