import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import { createSelectorValveCodec } from '../../../../drivers/selector-valve/command-lines/codec.ts';
import { openSelectorValve } from '../../../../drivers/selector-valve/command-lines/driver.ts';
import { selectorValveSettingsSchema } from '../../../../drivers/selector-valve/command-lines/manifest.ts';
import { createSelectorValveSimulator } from '../../../../drivers/selector-valve/command-lines/simulator.ts';
import type { PortSelector } from '../../../../src/device/driver.ts';
import { isChambersideError } from '../../../../src/model/error-code.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  latin1,
} from '../../../contract/drivers/support.ts';

function bench(raw: Record<string, unknown> = {}) {
  const settings = selectorValveSettingsSchema.parse(raw);
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const session = openSelectorValve({
    instrument: 'valve',
    settings,
    transport: cable,
    timers: clock,
    lines: createLineFramer,
    sink,
  });
  const { selector } = session;
  if (selector === undefined) throw new RangeError('no selector');
  const moves: { port: number; at: number }[] = [];
  const simulator = createSelectorValveSimulator(
    settings,
    {
      timers: clock,
      random: createRandom(3),
      send: (bytes) => {
        cable.arrive(bytes, clock.now());
      },
    },
    {
      moveTo: (port) => moves.push({ port, at: clock.now() }),
      switchingMicroseconds: 300_000,
      acknowledgeDelayMicroseconds: 40_000,
      startPort: 7,
    },
  );
  return { settings, clock, cable, sink, session, selector, simulator, moves };
}

/** The same with driver and simulator on one cable. */
function rehearsal(raw: Record<string, unknown> = {}) {
  const all = bench(raw);
  all.cable.onWrite((bytes) => {
    all.simulator.receive(bytes);
  });
  all.simulator.start();
  const end = (): void => {
    all.simulator.stop();
    all.session.end();
    expect(all.clock.timerCount).toBe(0);
    expect(all.session.accountedBytes).toBe(all.cable.arrivedBytes);
  };
  return { ...all, end };
}

const select = (selector: PortSelector, port: number): Promise<unknown> =>
  selector.select(port).catch((error: unknown) => error);
const codeOf = (outcome: unknown): string => (isChambersideError(outcome) ? outcome.code : 'no error');

describe('selector valve words', () => {
  it('reads and writes our own grammar', () => {
    const codec = createSelectorValveCodec(selectorValveSettingsSchema.parse({}));
    expect(codec.encodeCommand({ command: 'select', port: 3 })).toBe('port 3');
    expect(codec.encodeCommand({ command: 'query' })).toBe('port?');
    expect(codec.encode({ message: 'acknowledged', port: 3 })).toBe('ok port 3');
    expect(codec.encode({ message: 'position', port: 3 })).toBe('at 3');
    expect(codec.decode('ok port 3')).toEqual({ message: 'acknowledged', port: 3 });
    expect(codec.decode('at 12')).toEqual({ message: 'position', port: 12 });
    expect(codec.decode('no port 9')).toEqual({ message: 'refused', text: 'no port 9' });
    for (const line of [
      'ok port',
      'ok port x',
      'ok port -3',
      'ok port 3.5',
      'ok port 1234',
      'at',
      'at 3 4',
      'OK PORT 3',
      '',
      'okport 3',
    ]) {
      expect(codec.decode(line)).toBeUndefined();
    }
    expect(codec.decodeCommand('port 3')).toEqual({ command: 'select', port: 3 });
    expect(codec.decodeCommand('port?')).toEqual({ command: 'query' });
    expect(codec.decodeCommand('port three')).toBeUndefined();
  });

  it('speaks another grammar by settings alone', () => {
    const settings = selectorValveSettingsSchema.parse({
      command: 'GO{port}',
      acknowledge: '<{port}> READY',
      query: 'WHERE',
      position: '<{port}> HERE',
      refusal: 'ERR {any}',
      terminator: '\r\n',
    });
    const codec = createSelectorValveCodec(settings);
    expect(codec.encodeCommand({ command: 'select', port: 11 })).toBe('GO11');
    expect(codec.decode('<11> READY')).toEqual({ message: 'acknowledged', port: 11 });
    expect(codec.decode('<11> HERE')).toEqual({ message: 'position', port: 11 });
    expect(codec.decode('ERR 5')).toEqual({ message: 'refused', text: 'ERR 5' });
  });

  it.each([
    [{ command: 'go' }, 'command'],
    [{ command: 'port {port} {any}' }, 'command'],
    [{ acknowledge: 'ok' }, 'acknowledge'],
    [{ position: 'at {place}' }, 'position'],
    [{ position: 'ok port {port}' }, 'position'],
    [{ refusal: 'no {port}{any}' }, 'refusal'],
    [{ query: '' }, 'query'],
    [{ ports: 1 }, 'ports'],
    [{ acknowledgeTimeoutSeconds: 0 }, 'acknowledgeTimeoutSeconds'],
  ])('refuses %j at %s', (raw, field) => {
    const parsed = selectorValveSettingsSchema.safeParse(raw);
    expect(parsed.error?.issues.map((issue) => issue.path[0])).toContain(field);
  });
});

describe('selector valve driver', () => {
  it('refuses ports that the valve does not have without writing', async () => {
    const { selector, cable, session } = bench();
    for (const port of [0, -1, 9, 1.5, Number.NaN])
      expect(codeOf(await select(selector, port))).toBe('request-refused');
    expect(cable.written).toBe('');
    session.end();
  });

  it('does not take the late acknowledgement of one port for that of the next', async () => {
    const { selector, cable, clock, sink, session } = bench();
    const first = select(selector, 3);
    clock.advance(3e6);
    expect(codeOf(await first)).toBe('request-timed-out');
    const second = selector.select(4);
    cable.arrive(latin1('ok port 3\n'), 5);
    expect(sink.problems).toEqual([expect.objectContaining({ code: 'answer-unexpected', byteCount: 10, at: 5 })]);
    expect(sink.problems[0]?.detail).toContain('port 3');
    cable.arrive(latin1('ok port 4\n'), 9);
    expect(await second).toEqual({ atMicroseconds: 9 });
    session.end();
  });

  it('keeps waiting through noise and answers to other questions', async () => {
    const { selector, cable, sink, session } = bench();
    const asked = selector.select(2);
    cable.arrive(latin1('at 2\nfoo\n\nok port 2\n'), 6);
    expect(await asked).toEqual({ atMicroseconds: 6 });
    expect(sink.codes()).toEqual(['answer-unexpected', 'line-undecodable']);
    expect(sink.problemBytes + sink.understoodBytes).toBe(cable.arrivedBytes);
    session.end();
  });

  it('rejects with what the valve says when it refuses', async () => {
    const { selector, cable, session } = bench();
    const asked = select(selector, 2);
    cable.arrive(latin1('no air\n'), 6);
    const outcome = await asked;
    expect(codeOf(outcome)).toBe('request-refused');
    expect(String(outcome)).toContain('no air');
    session.end();
  });

  it('can be cancelled', async () => {
    const { selector, clock, session } = bench();
    const controller = new AbortController();
    const asked = selector.select(2, controller.signal).catch((error: unknown) => error);
    controller.abort();
    expect(codeOf(await asked)).toBe('request-cancelled');
    expect(clock.timerCount).toBe(0);
    session.end();
  });

  it('confirms by query where told to, and returns the time of the acknowledgement', async () => {
    const { selector, cable, session } = bench({ confirmByQuery: true });
    const right = selector.select(2);
    cable.arrive(latin1('ok port 2\n'), 10);
    await Promise.resolve();
    await Promise.resolve();
    await Promise.resolve();
    expect(cable.written).toBe('port 2\nport?\n');
    cable.arrive(latin1('at 2\n'), 20);
    expect(await right).toEqual({ atMicroseconds: 10 });
    cable.onWrite((bytes) => {
      cable.arrive(latin1(bytes.length === 6 ? 'at 2\n' : 'ok port 3\n'), 30);
    });
    expect(codeOf(await select(selector, 3))).toBe('answer-unexpected');
    session.end();
  });
});

describe('selector valve and its simulator', () => {
  it('acknowledges after switching and delay; the move begins with the command', async () => {
    const { selector, clock, moves, sink, end } = rehearsal();
    expect((await Promise.all([selector.position()]))[0]).toMatchObject({ port: 7 });
    const asked = selector.select(3);
    clock.advance(340_000);
    expect(await asked).toEqual({ atMicroseconds: 340_000 });
    expect(moves).toEqual([{ port: 3, at: 0 }]);
    expect(await selector.position()).toMatchObject({ port: 3 });
    expect(sink.problems).toEqual([]);
    end();
  });

  it('late: times out, has moved, and the late answer is a problem', async () => {
    const { selector, simulator, clock, moves, sink, end } = rehearsal();
    simulator.setBehaviour('late', 1);
    const asked = select(selector, 3);
    clock.advance(3e6);
    expect(codeOf(await asked)).toBe('request-timed-out');
    expect(moves).toEqual([{ port: 3, at: 0 }]);
    expect(await selector.position()).toMatchObject({ port: 3 });
    clock.advance(3e6);
    expect(sink.codes()).toEqual(['answer-unexpected']);
    const again = selector.select(4);
    clock.advance(340_000);
    await expect(again).resolves.toBeDefined();
    end();
  });

  it.each([
    [1, 2],
    [8, 7],
  ])('wrong: moves to port %d and says %d', async (port, neighbour) => {
    const { selector, simulator, clock, moves, end } = rehearsal();
    simulator.setBehaviour('wrong', 10);
    const asked = select(selector, port);
    clock.advance(1e6);
    const outcome = await asked;
    expect(codeOf(outcome)).toBe('answer-unexpected');
    expect(String(outcome)).toContain(`port ${neighbour}`);
    expect(moves.map((move) => move.port)).toEqual([port]);
    expect(await selector.position()).toMatchObject({ port: neighbour });
    clock.advance(10e6);
    expect(await selector.position()).toMatchObject({ port });
    end();
  });

  it('never: neither moves nor answers, and is normal again after its time', async () => {
    const { selector, simulator, clock, moves, cable, end } = rehearsal();
    simulator.setBehaviour('never', 5);
    const asked = select(selector, 3);
    clock.advance(4e6);
    expect(codeOf(await asked)).toBe('request-timed-out');
    expect(moves).toEqual([]);
    expect(cable.arrivedBytes).toBe(0);
    clock.advance(1e6);
    const again = selector.select(3);
    clock.advance(1e6);
    await expect(again).resolves.toBeDefined();
    simulator.setBehaviour('never', Infinity);
    clock.advance(1e9);
    const forGood = select(selector, 3);
    clock.advance(3e6);
    expect(codeOf(await forGood)).toBe('request-timed-out');
    end();
  });

  it('refuses a port that it does not have, says nothing to noise, and forgets all when switched off', () => {
    const { simulator, cable, clock, moves, session } = bench();
    simulator.receive(latin1('port 3\n'));
    simulator.start();
    simulator.receive(latin1('port 9\nnoise\n\u0000\n'));
    expect(cable.arrivedBytes).toBe('no port 9\n'.length);
    simulator.receive(latin1('port 3\nport 4\n'));
    expect(moves).toEqual([{ port: 3, at: 0 }]);
    simulator.setBehaviour('late', 100);
    simulator.stop();
    clock.advance(100e6);
    expect(moves).toHaveLength(1);
    expect(clock.timerCount).toBe(0);
    session.end();
  });

  it('does one move at a time, in the order of the commands', () => {
    const { simulator, clock, moves, sink, session } = bench();
    simulator.start();
    simulator.receive(latin1('port 3\nport 4\n'));
    clock.advance(1e6);
    expect(moves).toEqual([
      { port: 3, at: 0 },
      { port: 4, at: 300_000 },
    ]);
    expect(sink.problems.map((problem) => problem.at)).toEqual([340_000, 640_000]);
    simulator.stop();
    session.end();
  });
});
