import { Worker } from 'node:worker_threads';

/**
 * Starts a worker thread of this program. In the bundle the worker is a sibling file. From source it is TypeScript;
 * a loader given by `execArgv` does not reach the hooks of a worker thread in Node 20, so a line of JavaScript
 * registers it first.
 * @param from `import.meta.url` of the caller, in whose folder the worker lies.
 * @param name of the worker's file, without its ending.
 */
export function startWorker(from: string, name: string): Worker {
  if (!from.endsWith('.ts')) return new Worker(new URL(`./${name}.js`, from));
  const loader = JSON.stringify(import.meta.resolve('tsx/esm/api'));
  const entry = JSON.stringify(new URL(`./${name}.ts`, from).href);
  const code = `import { register } from ${loader}; register(); await import(${entry});`;
  return new Worker(new URL(`data:text/javascript,${encodeURIComponent(code)}`));
}
