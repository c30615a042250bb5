import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { spawn } from '@lydell/node-pty';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { decodeTruth } from '../../drivers/virtual-rig/truth.ts';
import type { Transport } from '../../src/device/transport.ts';
import { monotonicNow } from '../../src/host/clock/monotonic-now.ts';
import type { CableChange } from '../../src/host/rig/running-rig.ts';
import { startRigProcess, type RigProcess, type StartRigProcessOptions } from '../../src/host/rig/start-rig-process.ts';
import { readTruthFile } from '../../src/host/rig/truth-file.ts';
import { isChambersideError, type ChambersideError } from '../../src/model/error-code.ts';
import { bytesToText, textToBytes } from '../../src/model/bytes.ts';
import { eventually } from '../support/transport-peers.ts';

let folder: string;
let running: RigProcess[] = [];
const transports: Transport[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'chamberside-test-'));
});
afterEach(async () => {
  for (const transport of transports.splice(0)) await transport.close();
  for (const rig of running) await rig.stop();
  running = [];
  rmSync(folder, { recursive: true, force: true });
});

type Wished = Partial<StartRigProcessOptions> & Pick<StartRigProcessOptions, 'wire'>;

async function start(options: Wished): Promise<RigProcess> {
  const rig = await startRigProcess({ scenario: 'short', seed: 7, truthFile: null, ...options });
  running.push(rig);
  return rig;
}

interface Heard {
  readonly transport: Transport;
  text: string;
  readonly stamps: number[];
  readonly closed: string[];
}

async function listen(rig: RigProcess, instrument: string): Promise<Heard> {
  const transport = await rig.open(instrument, monotonicNow);
  transports.push(transport);
  const heard: Heard = { transport, text: '', stamps: [], closed: [] };
  transport.onBytes((bytes, at) => {
    heard.text += bytesToText(bytes);
    heard.stamps.push(at);
  });
  transport.onClose((reason) => heard.closed.push(reason));
  return heard;
}

async function rejection(promise: Promise<unknown>): Promise<ChambersideError> {
  const error: unknown = await promise.then(
    () => undefined,
    (reason: unknown) => reason,
  );
  if (!isChambersideError(error)) throw new Error(`not refused as it should be: ${String(error)}`);
  return error;
}

describe.each(['pty', 'tcp'] as const)('virtual rig process on %s', (wire) => {
  it('speaks and listens on every wire, keeps its truth beside, and ends cleanly', async () => {
    const truthFile = join(folder, 'trial.truth');
    const begun = monotonicNow();
    const rig = await start({ wire, truthFile });
    expect(rig.rig.virtual).toBe(true);
    expect([...rig.connections.keys()]).toEqual(rig.rig.instruments.map((entry) => entry.instrument));
    expect(rig.monotonicOriginMicroseconds).toBeGreaterThan(begun);
    expect(rig.monotonicOriginMicroseconds).toBeLessThan(monotonicNow());

    const photometer = await listen(rig, rig.rig.photometer);
    const valve = await listen(rig, rig.rig.selectorValve);
    await eventually('twenty photometer lines', () => photometer.text.split('\n').length > 20);
    expect(photometer.text).toMatch(/conc -?\d+\.\d+ mg\/m3 ok/);
    expect(photometer.stamps).toEqual([...photometer.stamps].sort((a, b) => a - b));
    valve.transport.write(textToBytes('port?\n'));
    await eventually('the valve’s position', () => /at \d+/.test(valve.text));
    valve.transport.write(textToBytes('port 3\n'));
    await eventually('the valve’s acknowledgement', () => valve.text.includes('ok port 3'));
    rig.cue({ cue: 'enter', exercise: null });
    const refused: string[] = [];
    rig.onRefused((reason) => refused.push(reason));
    rig.inject({ fault: 'wire', instrument: 'no-such-instrument', wire: { fault: 'silence', seconds: 1 } });
    await eventually('a refusal', () => refused.length === 1);
    expect(refused[0]).toContain('no-such-instrument');

    await rig.stop();
    await rig.stop();
    expect(rig.connections.size).toBe(0);
    await eventually('both connections broken', () => photometer.closed.length === 1 && valve.closed.length === 1);
    expect([...(rig.droppedBytes ?? [])]).toEqual(rig.rig.instruments.map((entry) => [entry.instrument, 0]));
    const truth = decodeTruth(readTruthFile(truthFile));
    expect(truth?.tornBytes).toBe(0);
    const truthBegins = truth?.stretches[0]?.fromMicroseconds ?? 0;
    expect(truthBegins).toBeGreaterThanOrEqual(rig.monotonicOriginMicroseconds);
    expect(truthBegins - rig.monotonicOriginMicroseconds).toBeLessThan(20_000);
  });

  it('loses a pulled cable and is there again, under the same or a new name', async () => {
    const rig = await start({ wire });
    const name = rig.rig.photometer;
    const changes: CableChange[] = [];
    rig.onCable((change) => changes.push(change));
    const before = rig.connections.get(name);
    for (const newName of [false, true]) {
      const heard = await listen(rig, name);
      await eventually('bytes', () => heard.text.length > 0);
      changes.length = 0;
      rig.inject({ fault: 'unplug', instrument: name, seconds: 0.3, newName });
      await eventually('the loss is seen', () => heard.closed.length === 1);
      await eventually('the pull is told', () => changes.length >= 1);
      expect(changes[0]).toEqual({ instrument: name, state: 'pulled' });
      expect((await rejection(rig.open(name, monotonicNow))).code).toBe('port-not-found');
      await eventually('the return is told', () => changes.length === 2);
      const back = rig.connections.get(name);
      expect(changes[1]).toEqual({ instrument: name, state: 'back', connection: back });
      if (newName) expect(back).not.toEqual(before);
      else expect(back).toEqual(before);
      const again = await listen(rig, name);
      await eventually('bytes again', () => again.text.length > 0);
      expect(heard.closed[0]).not.toMatch(/by the program/);
      await again.transport.close();
    }
  });

  it('does not hand over what it said while nobody had the wire open', async () => {
    const rig = await start({ wire });
    const first = await listen(rig, rig.rig.photometer);
    await eventually('bytes', () => first.text.length > 0);
    await first.transport.close();
    await new Promise((resolve) => setTimeout(resolve, 1000));
    const opened = monotonicNow();
    const heard = await listen(rig, rig.rig.photometer);
    await eventually('six lines', () => heard.text.split('\n').length > 6);
    // Six lines at 20 Hz take about 0.3 s; twenty old ones would have come at once.
    expect((heard.stamps.at(-1) as number) - opened).toBeGreaterThan(150_000);
  });

  it('is seen to be gone when it is killed, and leaves its truth up to the last second', async () => {
    const truthFile = join(folder, 'killed.truth');
    const rig = await start({ wire, truthFile });
    const heard = await listen(rig, rig.rig.photometer);
    await eventually('bytes', () => heard.text.length > 0);
    const connection = rig.connections.get(rig.rig.photometer);
    await eventually('2.4 s on the rig’s clock', () => monotonicNow() - rig.monotonicOriginMicroseconds > 2_400_000);
    const lost: ChambersideError[] = [];
    rig.onLost((error) => lost.push(error));
    process.kill(rig.processId, 'SIGKILL');
    await eventually('the loss of the wire', () => heard.closed.length === 1);
    await eventually('the loss of the rig', () => lost.length === 1);
    expect(lost[0]?.code).toBe('rig-process-failed');
    expect((await rejection(rig.open(rig.rig.photometer, monotonicNow))).code).toBe('port-not-found');
    if (connection?.transport === 'serial') expect(existsSync(dirname(connection.path))).toBe(false);
    const late: ChambersideError[] = [];
    rig.onLost((error) => late.push(error));
    await eventually('a late listener is told', () => late.length === 1);
    const truth = decodeTruth(readTruthFile(truthFile));
    const stretch = truth?.stretches[0];
    const seconds = ((stretch?.challenge.length ?? 0) * (stretch?.binMicroseconds ?? 0)) / 1e6;
    expect(seconds).toBeGreaterThanOrEqual(1);

    const before = truth?.stretches.length ?? 0;
    const again = await start({ wire, truthFile, continueTruth: true, startedInside: { exercise: null } });
    await eventually('some of its time', () => monotonicNow() - again.monotonicOriginMicroseconds > 300_000);
    await again.stop();
    const both = decodeTruth(readTruthFile(truthFile));
    expect(both?.stretches).toHaveLength(before + 1);
    expect(both?.stretches.at(-1)?.fromMicroseconds).toBeGreaterThanOrEqual(again.monotonicOriginMicroseconds);
  });
});

describe('virtual rig process', () => {
  it('hangs up on a second program on a TCP wire and keeps the first', async () => {
    const rig = await start({ wire: 'tcp' });
    const first = await listen(rig, rig.rig.photometer);
    await eventually('bytes', () => first.text.length > 0);
    const second = await listen(rig, rig.rig.photometer);
    await eventually('the refusal', () => second.closed.length === 1);
    const soFar = first.text.length;
    await eventually('more bytes for the first', () => first.text.length > soFar);
    expect(second.text).toBe('');
    expect(first.closed).toEqual([]);
  });

  it('leaves no pseudo-terminal names behind', async () => {
    const rig = await start({ wire: 'pty' });
    const connection = [...rig.connections.values()][0];
    if (connection?.transport !== 'serial') throw new Error('no serial connection');
    expect(readdirSync(dirname(connection.path))).toHaveLength(rig.rig.instruments.length);
    await rig.stop();
    expect(existsSync(dirname(connection.path))).toBe(false);
  });

  it('says why it cannot start', async () => {
    const unknown = await rejection(start({ wire: 'tcp', scenario: 'no-such-scenario' }));
    expect(unknown.code).toBe('rig-process-failed');
    expect(unknown.message).toContain('no-such-scenario');
    const truthFile = join(folder, 'missing', 'trial.truth');
    expect((await rejection(start({ wire: 'tcp', truthFile }))).message).toContain(truthFile);
    const badSeed = await rejection(start({ wire: 'tcp', seed: 0.5 }));
    expect(badSeed.message).toContain('seed');
  });

  it('shows a person at a terminal a table and ends on Ctrl-C', async () => {
    const entry = fileURLToPath(new URL('../../src/host/rig/rig-process.ts', import.meta.url));
    const terminal = spawn(process.execPath, ['--import', 'tsx', entry, '--wire', 'tcp', '--scenario', 'short'], {
      cols: 200,
      cwd: fileURLToPath(new URL('../..', import.meta.url)),
    });
    let shown = '';
    let exitCode: number | undefined;
    terminal.onData((text) => {
      shown += text;
    });
    terminal.onExit((exit) => {
      exitCode = exit.exitCode;
    });
    const row = /photometer\s+photometer, text-lines\s+tcp 127\.0\.0\.1:\d+/;
    await eventually('the table', () => row.test(shown), 15_000);
    expect(shown).not.toContain('{"rig"');
    terminal.write('\u0003');
    await eventually('its end', () => exitCode !== undefined);
    expect(exitCode).toBe(0);
  });
});
