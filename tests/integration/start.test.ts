import { spawn, type ChildProcess } from 'node:child_process';
import { createRequire } from 'node:module';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { temporaryFolder } from '../support/command-line.ts';
import { ask, channelHeaders, enter, openChannel } from '../support/doors/browser-peer.ts';

const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
const script = fileURLToPath(new URL('../support/doors/start-process.ts', import.meta.url));

interface Started {
  readonly child: ChildProcess;
  readonly out: () => string;
  readonly err: () => string;
  readonly ended: Promise<number | string | null>;
}

describe('chamberside start', () => {
  let folder: ReturnType<typeof temporaryFolder>;
  const children: ChildProcess[] = [];

  beforeEach(() => {
    folder = temporaryFolder();
  });
  afterEach(() => {
    for (const child of children.splice(0)) child.kill('SIGKILL');
    folder.clear();
  });

  const start = (...words: string[]): Started => {
    const all = ['--import', loader, script, '--folder', folder.path, ...words];
    const environment = { ...process.env, DISPLAY: '', WAYLAND_DISPLAY: '' };
    const child = spawn(process.execPath, all, { stdio: ['ignore', 'pipe', 'pipe'], env: environment });
    children.push(child);
    let [out, err] = ['', ''];
    child.stdout.setEncoding('utf8').on('data', (text: string) => void (out += text));
    child.stderr.setEncoding('utf8').on('data', (text: string) => void (err += text));
    const ended = new Promise<number | string | null>((resolve) => {
      child.once('close', (status, signal) => resolve(status ?? signal));
    });
    return { child, out: () => out, err: () => err, ended };
  };
  const addressOf = async (started: Started): Promise<string> => {
    await vi.waitFor(() => expect(started.out(), started.err()).toContain('\n'), { timeout: 30_000 });
    return (JSON.parse(started.out()) as { url: string }).url;
  };

  it.each(['SIGTERM', 'SIGINT', 'SIGHUP'] as const)('serves until %s, and then ends cleanly', async (signal) => {
    const started = start('--no-window', '--json');
    const address = await addressOf(started);
    const port = Number(new URL(address).port);
    const entry = await enter(address);
    const channel = openChannel(port, '/rpc', channelHeaders(port, entry));
    await channel.opened;
    started.child.kill(signal);
    // Windows that are connected hold nothing up.
    expect(await started.ended).toBe(0);
    expect((await channel.ended).code).toBe(1001);
    expect(started.out().trimEnd().split('\n')).toHaveLength(1);
    expect(started.err()).toContain('the runtime has ended');
  });

  it('leaves a folder free when it is killed, and names the process while it lives', async () => {
    const first = start('--no-window', '--json');
    await addressOf(first);
    const second = start('--no-window', '--json');
    expect(await second.ended).toBe(1);
    expect(second.out()).toBe('');
    expect(second.err()).toContain(`folder-in-use: The host of process ${first.child.pid}`);
    first.child.kill('SIGKILL');
    await first.ended;
    const third = start('--no-window', '--json');
    expect((await ask(Number(new URL(await addressOf(third)).port), '/')).status).toBe(403);
    third.child.kill('SIGTERM');
    expect(await third.ended).toBe(0);
  });

  it('prints the address for a person where there is no screen', async () => {
    const started = start();
    await vi.waitFor(() => expect(started.err()).toMatch(/http:\/\/127\.0\.0\.1:\d+\/\?token=/), { timeout: 30_000 });
    started.child.kill('SIGTERM');
    expect(await started.ended).toBe(0);
  });
});
