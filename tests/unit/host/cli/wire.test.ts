import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { parseOptions } from '../../../../src/host/cli/command.ts';
import { wireCommand } from '../../../../src/host/cli/wire.ts';

const folder = mkdtempSync(join(tmpdir(), 'chamberside-wire-command-'));
afterAll(() => rmSync(folder, { recursive: true }));

async function run(...words: string[]): Promise<{ status: number; text: string }> {
  const said: string[] = [];
  const say = (line: string): void => void said.push(line);
  const status = await wireCommand.run(parseOptions(wireCommand, words), { line: say, note: say, interactive: false });
  return { status, text: said.join('\n') };
}

it('a port whose cable is pulled ends with status 1 and says so, and its capture is listed as whole', async () => {
  const server = createServer((instrument) => instrument.end('conc 0.02121 mg/m3 ok *50\n'));
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const path = join(folder, 'pulled');
  const port = `127.0.0.1:${(server.address() as AddressInfo).port}`;
  const captured = await run(path, '--port', port, '--kind', 'photometer', '--dialect', 'text-lines');
  server.close();
  expect(captured.status).toBe(1);
  expect(captured.text).toMatch(/^STOPPED: the connection was lost: /m);
  expect(captured.text).toMatch(/^PROBLEM connection-lost: 1$/m);
  const listed = await run(path);
  expect(listed.status).toBe(0);
  expect(listed.text).toMatch(/PROBLEM connection-lost/);
});
