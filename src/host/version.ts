import { createRequire } from 'node:module';

declare const chambersideVersion: string | undefined;

/**
 * Version of the program: stamped into the bundle when it is built, read from package.json when it runs from
 * source.
 */
export const programVersion: string =
  typeof chambersideVersion === 'string'
    ? chambersideVersion
    : (createRequire(import.meta.url)('../../package.json') as { version: string }).version;
