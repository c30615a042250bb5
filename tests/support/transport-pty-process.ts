/**
 * Holds the device's side of one pseudo-terminal, in a process of its own: a master written by the process that
 * reads the other side can lock it up. Lines on stdin `{"send": hex}`, lines on stdout `{"path"}`, then
 * `{"received": hex}`.
 */
import { createInterface } from 'node:readline';
import { openPseudoTerminal } from '../../src/host/rig/pseudo-terminal.ts';

const terminal = openPseudoTerminal({
  onBytes: (bytes) => {
    process.stdout.write(`${JSON.stringify({ received: Buffer.from(bytes).toString('hex') })}\n`);
  },
});
process.stdout.write(`${JSON.stringify({ path: terminal.path })}\n`);

/** What is sent before the other side is seen to be open waits here, so that a test need not know when that is. */
const early: Uint8Array[] = [];
const flush = setInterval(() => {
  if (terminal.heard) for (const bytes of early.splice(0)) terminal.write(bytes);
}, 5);

createInterface({ input: process.stdin })
  .on('line', (line) => {
    early.push(Buffer.from((JSON.parse(line) as { send: string }).send, 'hex'));
  })
  .on('close', () => {
    clearInterval(flush);
    terminal.close();
  });
