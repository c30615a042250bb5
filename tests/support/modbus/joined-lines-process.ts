/**
 * Two pseudo-terminals joined to one line: what is written to one comes out of the other. Prints
 * `{"ends": [path, path]}` and ends with its standard input.
 */
import { openPseudoTerminal } from '../../../src/host/rig/pseudo-terminal.ts';

const one = openPseudoTerminal({ onBytes: (bytes) => other.write(bytes) });
const other = openPseudoTerminal({ onBytes: (bytes) => one.write(bytes) });
process.stdout.write(`${JSON.stringify({ ends: [one.path, other.path] })}\n`);
process.stdin.resume().on('end', () => {
  one.close();
  other.close();
});
