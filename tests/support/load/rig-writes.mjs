/**
 * Loaded into every Node process below a program by `NODE_OPTIONS=--import`; works in the rig process only. Notes
 * when each photometer line was written to its wire: `<µs of the monotonic clock> <descriptor> <line>` in the file
 * that CHAMBERSIDE_RIG_WRITES names. What the rig sends and when stays as it is.
 */
import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
import { isMainThread } from 'node:worker_threads';

const file = process.env['CHAMBERSIDE_RIG_WRITES'];
if (file !== undefined && isMainThread && /rig-process\.[jt]s$/.test(process.argv[1] ?? '')) {
  const write = fs.writeSync;
  const log = fs.openSync(file, 'a');
  /** @type {string[]} */
  let noted = [];
  const flush = () => {
    if (noted.length > 0) write(log, `${noted.join('\n')}\n`);
    noted = [];
  };
  /** @type {(descriptor: number, bytes: Uint8Array, ...rest: number[]) => number} */
  const notingWrite = (descriptor, bytes, ...rest) => {
    const at = process.hrtime.bigint() / 1000n;
    const count = write(descriptor, bytes, ...rest);
    const text = Buffer.from(bytes.subarray(0, count)).toString('latin1');
    if (text.startsWith('conc ')) noted.push(`${at} ${descriptor} ${text.trimEnd()}`);
    return count;
  };
  Object.assign(fs, { writeSync: notingWrite });
  syncBuiltinESMExports();
  setInterval(flush, 500).unref();
  process.on('exit', flush);
}
