import { copyFileSync, readFileSync, statSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readCapture } from '../../src/host/wire/capture-file.ts';
import { chamberside, startChamberside, temporaryFolder } from '../support/command-line.ts';
import { startInstruments, type StartedInstruments } from '../support/instruments/start-instruments.ts';

const folder = temporaryFolder();
const kept = fileURLToPath(
  new URL('../../fixtures/wire/photometer/text-lines/garbage-checksums-unplugged.wire.jsonl', import.meta.url),
);
let instruments: StartedInstruments;
beforeAll(async () => {
  instruments = await startInstruments();
});
afterAll(async () => {
  await instruments.stop();
  folder.clear();
});

async function until(condition: () => boolean): Promise<void> {
  const limit = performance.now() + 10_000;
  while (!condition()) {
    if (performance.now() > limit) throw new Error('it did not come about in 10 s');
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

describe('a port captured from the command line', () => {
  it('that is killed in the middle leaves a capture that is read up to its last whole line', async () => {
    const path = folder.file('killed.wire.jsonl');
    const port = ['--port', instruments.lines.flow, '--kind', 'breathing', '--dialect', 'flow-lines', '--virtual'];
    const { child, ended } = startChamberside(['wire', path, ...port]);
    await until(() => (statSync(path, { throwIfNoEntry: false })?.size ?? 0) > 5_000);
    child.kill('SIGKILL');
    await ended;
    const { end, entries, header, missed } = readCapture(readFileSync(path, 'utf8'), path);
    expect(header).toMatchObject({ virtual: true, instrument: { kind: 'breathing', dialect: 'flow-lines' } });
    expect({ end, missed }).toEqual({ end: null, missed: 0 });
    // How many lines make an entry is up to whoever reads the port.
    expect(entries.length).toBeGreaterThan(5);
    const listed = await chamberside('wire', path, '--brief');
    expect(listed.status).toBe(1);
    expect(listed.stdout).toContain('CUT SHORT');
    const again = await chamberside('wire', path, ...port, '--json');
    expect(again.status).toBe(1);
    expect(JSON.parse(again.stdout)).toMatchObject({ error: { code: 'file-exists' } });
  });

  it('is no load: that would be without its guard', async () => {
    const words = ['--port', instruments.lines.flow, '--kind', 'ergometer', '--dialect', 'lines', '--json'];
    const { status, stdout } = await chamberside('wire', folder.file('load'), ...words);
    expect(status).toBe(1);
    expect(JSON.parse(stdout)).toMatchObject({ error: { code: 'action-refused' } });
  });
});

describe('a capture that is listed', () => {
  it('shows bytes as text and digits, problems as words, and what the driver reads', async () => {
    const { status, stdout } = await chamberside('wire', kept);
    expect(status).toBe(0);
    expect(stdout).toContain('conc 0.02121 mg/m3 ok *50␊    63 6f 6e 63 20 30 2e 30 32 31 32 31 20');
    expect(stdout.match(/PROBLEM checksum-wrong/g)).toHaveLength(6);
    expect(stdout).toContain('in: 1600 bytes in 61 reads; out: 0 bytes in 0 writes');
    expect(stdout).toMatch(/concentration +51/);
    const { readings } = (JSON.parse((await chamberside('wire', kept, '--json')).stdout) as {
      decoded: { readings: unknown[] };
    }).decoded;
    expect(readings).toHaveLength(51);
  });

  it('becomes a fixture of its driver by one command, once', async () => {
    copyFileSync(kept, folder.file('today.wire.jsonl'));
    const words = ['wire', folder.file('today.wire.jsonl'), '--brief', '--fixture', folder.file('fixtures')];
    expect((await chamberside(...words)).status).toBe(0);
    const made = folder.file('fixtures/photometer/text-lines/today');
    const entriesOf = (path: string): unknown => readCapture(readFileSync(path, 'utf8'), path).entries;
    expect(entriesOf(`${made}.wire.jsonl`)).toEqual(entriesOf(kept));
    const expectation = (path: string): unknown => JSON.parse(readFileSync(path, 'utf8'));
    expect(expectation(`${made}.expected.json`)).toEqual(expectation(kept.replace('.wire.jsonl', '.expected.json')));
    const again = await chamberside(...words);
    expect(again.status).toBe(1);
    expect(again.stderr).toContain('file-exists');
  });
});
