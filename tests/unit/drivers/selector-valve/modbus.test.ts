import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import { modbusValveSettingsSchema, selectorValveModbus } from '../../../../drivers/selector-valve/modbus/manifest.ts';
import { createModbusValveSimulator } from '../../../../drivers/selector-valve/modbus/simulator.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  settlePromises,
} from '../../../contract/drivers/support.ts';

const byCoils = { select: { by: 'coils', coil: 0 }, position: { table: 'discrete-inputs', start: 0 } };

function bench(given: Record<string, unknown> = {}) {
  const settings = modbusValveSettingsSchema.parse(given);
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const moves: number[] = [];
  const valve = createModbusValveSimulator(
    settings,
    {
      timers: clock,
      random: createRandom(1),
      send: (bytes) => {
        cable.arrive(bytes, clock.now());
      },
    },
    { moveTo: (port) => moves.push(port), switchingMicroseconds: 200_000, startPort: 1 },
  );
  cable.onWrite((bytes) => {
    valve.receive(bytes);
  });
  valve.start();
  const session = selectorValveModbus.open({
    instrument: 'valve',
    settings,
    transport: cable,
    timers: clock,
    lines: createLineFramer,
    sink,
  });
  const { selector } = session;
  if (selector === undefined) throw new Error('no selector');
  const pass = async (seconds: number): Promise<void> => {
    for (let step = 0; step < seconds * 200; step += 1) {
      clock.advance(5_000);
      await settlePromises();
    }
  };
  const outcome = (port: number, signal?: AbortSignal): Promise<unknown> =>
    selector.select(port, signal).then(
      ({ atMicroseconds }) => atMicroseconds,
      (error: unknown) => error,
    );
  return { clock, sink, moves, valve, session, selector, pass, outcome };
}

describe.each([
  ['a register', {}],
  ['coils and switches', byCoils],
])('a valve on a Modbus line, by %s', (_what, settings) => {
  it('is confirmed when it says that it stands there, not when it has heard', async () => {
    const { moves, selector, pass, outcome, session, clock } = bench(settings);
    const done = outcome(5);
    await pass(0.1);
    expect(moves).toEqual([5]);
    await pass(1);
    const at = (await done) as number;
    expect(at).toBeGreaterThanOrEqual(200_000);
    expect(at).toBeLessThanOrEqual(270_000);
    const position = selector.position();
    await pass(0.1);
    expect((await position).port).toBe(5);
    session.end();
    expect(clock.timerCount).toBe(0);
  });

  it('is not believed when it stands elsewhere, and says where', async () => {
    const { valve, pass, outcome } = bench(settings);
    valve.setBehaviour('wrong', Infinity);
    const done = outcome(5);
    await pass(4);
    expect(await done).toMatchObject({ code: 'answer-unexpected' });
    expect(String(await done)).toContain('stands at port 6');
  });

  it('is given up when it stays between ports, and when it says nothing', async () => {
    const { valve, pass, outcome } = bench(settings);
    valve.setBehaviour('late', Infinity);
    const late = outcome(5);
    await pass(4);
    expect(await late).toMatchObject({ code: 'answer-unexpected' });
    expect(String(await late)).toContain('is between ports');
    valve.setBehaviour('never', Infinity);
    const never = outcome(6);
    await pass(4);
    expect(await never).toMatchObject({ code: 'request-timed-out' });
  });

  it('goes to one port after the other, and drops what was withdrawn', async () => {
    const { moves, pass, outcome } = bench(settings);
    const withdrawal = new AbortController();
    const first = outcome(2, withdrawal.signal);
    await pass(0.05);
    withdrawal.abort();
    const second = outcome(3);
    const third = outcome(4);
    await pass(2);
    expect(await first).toMatchObject({ code: 'request-cancelled' });
    expect(await third).toBeGreaterThan((await second) as number);
    expect(moves).toEqual([2, 3, 4]);
  });

  it('survives looks without an answer', async () => {
    const { valve, pass, outcome } = bench(settings);
    const done = outcome(5);
    await pass(0.02);
    valve.inject({ fault: 'silence', seconds: 1 });
    await pass(3);
    expect(await done).toBeTypeOf('number');
  });
});

describe('settings of a valve on a Modbus line', () => {
  it.each([
    [{ select: { by: 'coils', coil: 0 }, position: { table: 'coils', start: 0 } }, 'position'],
    [{ position: { table: 'holding-registers', start: 0 } }, 'position'],
    [{ betweenValue: 3 }, 'betweenValue'],
    [{ select: { by: 'coils', coil: 65_530 }, ports: 8 }, 'select'],
    [{ ports: 1 }, 'ports'],
  ])('%j is refused for its %s', (settings, field) => {
    const parsed = modbusValveSettingsSchema.safeParse(settings);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.issues.map(({ path }) => path[0])).toContain(field);
  });
});
