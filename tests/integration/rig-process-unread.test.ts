import { spawn } from 'node:child_process';
import { closeSync, constants, openSync, readSync, writeSync } from 'node:fs';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { eventually } from '../support/transport-peers.ts';

describe('a program that opens a pseudo-terminal and does not read', () => {
  it('neither stops the instrument nor makes it keep more than its buffer', async () => {
    const entry = fileURLToPath(new URL('../support/transport-pty-process.ts', import.meta.url));
    const child = spawn(process.execPath, ['--import', 'tsx', entry], { stdio: ['pipe', 'pipe', 'inherit'] });
    const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
    let path: string | undefined;
    let received = '';
    createInterface({ input: child.stdout }).on('line', (line) => {
      const message = JSON.parse(line) as { path?: string; received?: string };
      path ??= message.path;
      if (message.received !== undefined) received += Buffer.from(message.received, 'hex').toString('latin1');
    });
    await eventually('the pseudo-terminal', () => path !== undefined, 15_000);
    const line = openSync(path as string, constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK);

    const chunkCount = 400;
    for (let index = 0; index < chunkCount; index += 1) {
      const text = String(index).padStart(1000, '.');
      child.stdin.write(`${JSON.stringify({ send: Buffer.from(text, 'latin1').toString('hex') })}\n`);
    }
    await new Promise((resolve) => setTimeout(resolve, 300));
    writeSync(line, 'still there?');
    await eventually('the instrument hears', () => received === 'still there?');

    let text = '';
    const buffer = Buffer.alloc(65_536);
    await eventually('the newest bytes', () => {
      try {
        text += buffer.toString('latin1', 0, readSync(line, buffer));
      } catch (error) {
        // Nothing there at present.
        if ((error as NodeJS.ErrnoException).code !== 'EAGAIN') throw error;
      }
      return text.endsWith(`.${chunkCount - 1}`);
    });
    closeSync(line);
    // What the operating system keeps by itself comes on top of the buffer.
    expect(text.length).toBeLessThan(65_536 + 32_768);
    expect(text.length).toBeGreaterThan(60_000);
    child.stdin.end();
    await gone;
  });
});
