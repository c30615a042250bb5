import { readFileSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';

const hook = pathToFileURL(fileURLToPath(new URL('./rig-writes.mjs', import.meta.url))).href;

/** The command that runs these words with a rig that notes its writes in a file. */
export function notingRigWrites(file: string, words: readonly string[]): readonly string[] {
  return ['env', `NODE_OPTIONS=--import ${hook}`, `CHAMBERSIDE_RIG_WRITES=${file}`, ...words];
}

/**
 * When each reading of a stream was written to its wire by the rig, µs of the monotonic clock.
 * @param values of the stream as it is stored, without a gap.
 * @throws Error when no line of the rig gives just these, one after the other.
 */
export function writtenAt(file: string, values: Float64Array): Float64Array {
  const wires = new Map<string, { readonly at: number; readonly value: number }[]>();
  for (const text of readFileSync(file, 'latin1').split('\n')) {
    const [at, descriptor = '', , value] = text.split(' ');
    if (value === undefined) continue;
    const wire = wires.get(descriptor) ?? [];
    wires.set(descriptor, wire);
    wire.push({ at: Number(at), value: Number(value) });
  }
  for (const wire of wires.values()) {
    for (let first = 0; first + values.length <= wire.length; first += 1) {
      if (values.every((value, index) => wire[first + index]?.value === value)) {
        return Float64Array.from(wire.slice(first, first + values.length), ({ at }) => at);
      }
    }
  }
  throw new Error(`the rig wrote nothing like the ${values.length} readings on ${wires.size} wires`);
}
