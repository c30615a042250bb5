import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createLineFramer } from '../../drivers/framing/line.ts';
import { createModbusClient } from '../../drivers/framing/modbus-client.ts';
import type { ModbusClient } from '../../drivers/framing/modbus-client.ts';
import type { ModbusRequest } from '../../drivers/framing/modbus-rtu.ts';
import { modbusSettingsSchema } from '../../drivers/framing/modbus-settings.ts';
import { findDriver, parseSettings } from '../../drivers/registry.ts';
import type { Transport } from '../../src/device/transport.ts';
import { createMonotonicClock } from '../../src/host/clock/monotonic-clock.ts';
import { openTransport } from '../../src/host/transport/open.ts';
import { createSharedLine } from '../../src/host/transport/shared-line.ts';
import type { SharedLine } from '../../src/host/transport/shared-line.ts';
import { createRecordingSink } from '../contract/drivers/support.ts';
import type { RecordingSink } from '../contract/drivers/support.ts';
import { startInstruments } from '../support/instruments/start-instruments.ts';
import type { StartedInstruments } from '../support/instruments/start-instruments.ts';
import { startAndHear } from '../support/modbus/first-line.ts';
import type { StartedProcess } from '../support/modbus/first-line.ts';

// Parties that nobody of this project wrote, from Debian's packages: pymodbus as slaves, mbpoll as master.

const clock = createMonotonicClock();
const codeOf = (error: unknown): string => (error as { code: string }).code;

describe('our masters against slaves of pymodbus', () => {
  let joined: StartedProcess;
  let line: SharedLine;
  const opened: { readonly transport: Transport; readonly sink: RecordingSink }[] = [];
  let stopServer: () => Promise<void>;

  const join = async (): Promise<{ readonly transport: Transport; readonly sink: RecordingSink }> => {
    const party = { transport: await line.open(clock.now), sink: createRecordingSink() };
    opened.push(party);
    return party;
  };
  const clientAt = async (address: number): Promise<{ client: ModbusClient; sink: RecordingSink }> => {
    const { transport, sink } = await join();
    const settings = modbusSettingsSchema.parse({ address, timeoutSeconds: 2 });
    const instrument = `slave-${address}`;
    const context = { instrument, settings, transport, timers: clock, lines: createLineFramer, sink };
    return { client: createModbusClient({ context }), sink };
  };

  beforeAll(async () => {
    joined = await startAndHear(new URL('../support/modbus/joined-lines-process.ts', import.meta.url));
    const [ours = '', theirs = ''] = (joined.said as { ends: string[] }).ends;
    const script = fileURLToPath(new URL('../support/modbus/pymodbus-server.py', import.meta.url));
    // Debian's own interpreter: its packages are not seen by another one on the search path.
    const server = spawn('/usr/bin/python3', [script, theirs], { stdio: 'inherit' });
    const gone = once(server, 'exit');
    stopServer = async () => {
      server.kill('SIGKILL');
      await gone;
    };
    line = createSharedLine(
      (now) => openTransport({ transport: 'serial', path: ours, baudRate: 19_200 }, now),
      clock,
    );
    const { client } = await clientAt(1);
    for (let attempt = 0; attempt < 20; attempt += 1) {
      const there = await client.ask({ function: 4, start: 0, count: 1 }).then(() => true, () => false);
      if (there) return;
    }
    throw new Error('the slaves of pymodbus do not answer');
  }, 60_000);
  afterAll(async () => {
    await Promise.all(opened.map(({ transport }) => transport.close()));
    await stopServer();
    await joined.stop();
  });

  it('read and write by each function, and what was written is there', async () => {
    const { client, sink } = await clientAt(1);
    const say = async (request: ModbusRequest): Promise<unknown> => (await client.ask(request)).answer;
    expect(await say({ function: 2, start: 0, count: 10 })).toEqual({
      answer: 'bits',
      bits: [true, false, true, true, false, false, true, false, true, false],
    });
    expect(await say({ function: 4, start: 0, count: 3 })).toEqual({
      answer: 'registers',
      registers: [214, 412, 10_084],
    });
    expect(await say({ function: 5, coil: 3, on: true })).toEqual({ answer: 'written' });
    const coils = [true, false, true, true, false, false, true, true, true, false];
    expect(await say({ function: 15, start: 5, coils })).toEqual({ answer: 'written' });
    expect(await say({ function: 1, start: 3, count: 12 })).toEqual({ answer: 'bits', bits: [true, false, ...coils] });
    expect(await say({ function: 6, register: 4, value: 0xabcd })).toEqual({ answer: 'written' });
    expect(await say({ function: 16, start: 5, registers: [1, 2, 0xffff] })).toEqual({ answer: 'written' });
    expect(await say({ function: 3, start: 4, count: 4 })).toEqual({
      answer: 'registers',
      registers: [0xabcd, 1, 2, 0xffff],
    });
    expect(sink.problems).toEqual([]);
  });

  it('are told by an exception what there is not', async () => {
    const { client, sink } = await clientAt(1);
    expect(await client.ask({ function: 3, start: 5000, count: 1 }).catch(codeOf)).toBe('request-refused');
    expect(sink.codes()).toEqual(['status-bad']);
    expect(sink.problems[0]?.detail).toContain('exception 2, illegal data address');
  });

  it('get their own answers when both ask at once', async () => {
    const one = await clientAt(1);
    const two = await clientAt(2);
    const read = async ({ client }: typeof one): Promise<unknown> =>
      (await client.ask({ function: 4, start: 0, count: 1 })).answer;
    const answers = await Promise.all(Array.from({ length: 50 }, () => [read(one), read(two)]).flat());
    expect(answers).toEqual(
      Array.from({ length: 50 }, () => [214, 45]).flat().map((value) => ({ answer: 'registers', registers: [value] })),
    );
    expect([...one.sink.problems, ...two.sink.problems]).toEqual([]);
  });

  it.each([
    // The registers of pymodbus-server.py.
    ['climate', {}, [['temperature', 21.4], ['humidity', 41.2], ['pressure', 1008.4]]],
    [
      'photometer',
      {
        registers: { concentration: { table: 'input', register: 3, type: 'float32' } },
        status: { table: 'input', register: 5, good: [0] },
      },
      [['concentration', 12.5]],
    ],
    [
      'photometer',
      {
        wordOrder: 'low-first',
        registers: { concentration: { table: 'holding', register: 0, type: 'float32' } },
        status: null,
      },
      [['concentration', 12.5]],
    ],
  ] as const)('give the readings of a %s with %j', async (kind, given, expected) => {
    const { transport, sink } = await join();
    const manifest = findDriver(kind, 'modbus-registers');
    const settings = parseSettings(manifest, kind, { ...given, intervalSeconds: 0.1 });
    const context = { instrument: kind, settings, transport, timers: clock, lines: createLineFramer, sink };
    const session = manifest.open(context);
    await new Promise((resolve) => setTimeout(resolve, 1_500));
    session.end();
    expect(sink.problems).toEqual([]);
    expect(sink.readings.length).toBeGreaterThanOrEqual(5 * expected.length);
    for (const [stream, value] of expected) {
      const given = sink.readings.filter((one) => one.stream === stream);
      for (const reading of given) expect(reading.value).toBeCloseTo(value, 9);
    }
  });
});

describe('our slaves against mbpoll', () => {
  let instruments: StartedInstruments;
  beforeAll(async () => {
    instruments = await startInstruments();
  });
  afterAll(() => instruments.stop());

  const fixed = ['-m', 'rtu', '-b', '9600', '-P', 'none', '-1', '-q'];
  /** Options, and with an equals sign the values that it writes. */
  const mbpoll = (path: string, ...words: readonly string[]): string => {
    // Its registers count from 1.
    const options = words.filter((word) => !word.startsWith('='));
    const values = words.filter((word) => word.startsWith('=')).map((word) => word.slice(1));
    const all = [...fixed, ...options, path, ...values];
    const { stdout, stderr, error } = spawnSync('mbpoll', all, { encoding: 'utf8' });
    if (error !== undefined) throw error;
    return stdout + stderr;
  };

  it('answer for their address', () => {
    for (const [address, temperature, humidity] of [
      [1, 215, 410],
      [2, 45, 420],
    ] as const) {
      const said = mbpoll(instruments.lines.bus, '-a', String(address), '-t', '3', '-r', '1', '-c', '3');
      expect(said).toMatch(new RegExp(`\\[1\\]:\\s+${temperature}\\n\\[2\\]:\\s+${humidity}\\n\\[3\\]:\\s+10084\\n`));
    }
  });

  it('refuse what they do not have, and are silent for another address', () => {
    const { bus } = instruments.lines;
    expect(mbpoll(bus, '-a', '1', '-t', '3', '-r', '100', '-c', '1')).toMatch(/illegal data address/i);
    expect(mbpoll(bus, '-a', '1', '-t', '0', '-r', '1', '-c', '1')).toMatch(/illegal function/i);
    expect(mbpoll(bus, '-a', '3', '-o', '0.3', '-t', '3', '-r', '1', '-c', '1')).toMatch(/timed out/i);
  });

  it('move a valve, and say where it stands', async () => {
    const { valve } = instruments.lines;
    expect(mbpoll(valve, '-a', '1', '-t', '4', '-r', '1', '=5')).toContain('Written 1 references');
    await new Promise((resolve) => setTimeout(resolve, 500));
    expect(mbpoll(valve, '-a', '1', '-t', '3', '-r', '1', '-c', '1')).toMatch(/\[1\]:\s+5\n/);
    expect(mbpoll(valve, '-a', '1', '-t', '4', '-r', '1', '=99')).toMatch(/illegal data value/i);
  });
});
