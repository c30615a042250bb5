import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { verify } from '../../src/host/store/verify.ts';
import { launchBrowser, wrapBrowser } from '../support/browser/find-browser.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { program as programFile, startProgram, type StartedProgram } from '../support/end-to-end/started-program.ts';
import { destinations, isLoopback, noted, watchingConnections } from '../support/load/connections.ts';
import { openProgramWindow } from '../support/load/program-window.ts';
import { quickScenario, writeQuickScenario } from '../support/runtime/quick-scenario.ts';

const folder = temporaryFolder();
const ofProgram = folder.file('program.trace');
const ofBrowser = folder.file('browser.trace');
const ofControl = folder.file('control.trace');
let program: StartedProgram;
let study = '';

/** What the browser names to learn whether there is a route by IPv6. */
const routeProbe = '2001:4860:4860::8888';

/** Addresses that documentation may use: nobody answers there. One of each way to reach out, from a child's child. */
const control = `
  const { spawnSync } = require('node:child_process');
  const { connect } = require('node:net');
  const { createSocket } = require('node:dgram');
  if (process.argv[1] !== 'child') {
    spawnSync(process.execPath, ['-e', process.env.CONTROL, 'child'], { stdio: 'inherit' });
  } else {
    for (const host of ['127.0.0.1', '192.0.2.1', '2001:db8::1']) connect(9, host).on('error', () => undefined);
    createSocket('udp4').on('error', () => undefined).send('x', 9, '198.51.100.1', () => undefined);
    const joined = createSocket('udp4').on('error', () => undefined);
    joined.connect(9, '203.0.113.1', () => joined.send('x', () => undefined));
    const silent = createSocket('udp4').on('error', () => undefined);
    silent.connect(9, '203.0.113.2', () => undefined);
    setTimeout(() => process.exit(), 500);
  }
`;

beforeAll(async () => {
  const [tracer = '', ...words] = watchingConnections(ofControl, [process.execPath, '-e', control]);
  const traced = spawnSync(tracer, words, { encoding: 'utf8', env: { ...process.env, CONTROL: control } });
  if (traced.error !== undefined || traced.status !== 0) {
    const why = traced.error?.message ?? traced.stderr;
    throw new Error(`strace could not watch: ${why} Install it, and let it watch processes (ptrace).`);
  }

  writeQuickScenario(folder.path, ['march']);
  program = startProgram(folder.path, watchingConnections(ofProgram, [process.execPath, programFile, 'start']));
  const window = await openProgramWindow(await program.address());
  const browser = await launchBrowser(
    wrapBrowser(folder.file('browser'), (path) => watchingConnections(ofBrowser, [path])),
  );
  try {
    const page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
    await page.goto(await program.address());
    await page.locator('main').waitFor();
    await window.stepUp();
    const { file } = await window.client.study.create({ name: 'Watched' });
    study = join(folder.path, file);
    await window.client.rig.startVirtual({ scenario: quickScenario, seed: 3 });
    await window.until('the rig', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
    const { trial } = await window.client.trial.prepare(window.plan(file));
    await window.until('the trial', (snapshot) => snapshot.trial?.trial === trial);
    await page.goto(new URL('#/trial', page.url()).href);
    await page.locator('.before').waitFor();
    await window.command('start');
    await page.locator('.lane-chart').waitFor();
    await window.until('the end', (snapshot) => ['done', 'failed'].includes(snapshot.trial?.ending ?? ''), 200);
    await page.goto(new URL(`#/result/${encodeURIComponent(file)}/${trial}`, page.url()).href);
    await page.locator('main.result table').waitFor();
  } finally {
    await browser.close();
    window.leave();
    await program.end();
  }
  for (const file of [ofControl, ofProgram, ofBrowser]) await noted(file);
}, 600_000);
afterAll(async () => {
  await program.end();
  folder.clear();
});

const foreign = (addresses: readonly string[]): string[] => addresses.filter((address) => !isLoopback(address));

describe('what a whole trial connects to', () => {
  it('would have been seen, whatever it is: streams and datagrams, from a process of a process', () => {
    const { reached, onlyNamed } = destinations(ofControl);
    expect(reached).toContain('127.0.0.1');
    expect(foreign(reached).sort()).toEqual(['192.0.2.1', '198.51.100.1', '2001:db8::1', '203.0.113.1']);
    expect(onlyNamed).toEqual(['203.0.113.2']);
  });

  it('was a whole trial', () => {
    expect(verify(study)).toMatchObject({ intact: true, trials: [{ sealed: true }] });
  });

  it('is nothing outside of this machine, for the program and its rig', () => {
    const { reached, onlyNamed } = destinations(ofProgram);
    expect(foreign([...reached, ...onlyNamed])).toEqual([]);
  });

  it('is nothing but the program, for the window', () => {
    const { reached, onlyNamed } = destinations(ofBrowser);
    expect(reached).toContain('127.0.0.1');
    expect(foreign(reached)).toEqual([]);
    // By a datagram's socket that sends nothing it asks the system for a way to the outside, before any connection, its
    // own page's included; no switch keeps it from that (decision 0042). Nothing else is named either.
    expect(foreign(onlyNamed).filter((address) => address !== routeProbe)).toEqual([]);
  });
});
