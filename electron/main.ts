import * as electron from 'electron';
import { createInterface } from 'node:readline';
import { runDesktop } from './desktop.ts';

// Started by `chamberside start`, which tells the address over standard input: an argument could be read by others.
runDesktop(electron, createInterface({ input: process.stdin }), (line) => process.stdout.write(`${line}\n`));
