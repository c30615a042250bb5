import * as electron from 'electron';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { runDesktop } from './desktop.ts';
import type { HostLink } from './host-link.ts';
import { createOwnHost } from './own-host.ts';

const preload = join(__dirname, 'desktop-preload.cjs');

if (electron.app.isPackaged) {
  const unpacked = join(process.resourcesPath, 'app.asar.unpacked');
  const places = {
    entry: join(unpacked, 'chamberside.js'),
    sqlite: join(unpacked, 'node_modules/better-sqlite3/build/Release/better_sqlite3.node'),
  };
  const own = createOwnHost(electron, places, process.env, (status) => electron.app.exit(status));
  runDesktop(electron, own, preload, own);
} else {
  // Started by `chamberside start`, which tells the address over standard input: an argument could be read by others.
  const input = createInterface({ input: process.stdin });
  const link: HostLink = {
    onLine: (listener) => void input.on('line', listener),
    say: (word) => void process.stdout.write(`${word}\n`),
  };
  runDesktop(electron, link, preload, null);
}
