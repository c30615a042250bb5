import { describe, expect, it } from 'vitest';
import {
  ergometerModbusRegisters,
  ergometerRegisterSettingsSchema,
} from '../../../../drivers/ergometer/modbus-registers/manifest.ts';
import { createErgometerRegisterSimulator } from '../../../../drivers/ergometer/modbus-registers/simulator.ts';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  settlePromises,
} from '../../../contract/drivers/support.ts';

/** @param keep false: the ergometer acknowledges and does not keep what it was told. */
function bench(given: Record<string, unknown> = {}, itsOwn: Record<string, unknown> = given, keep = true) {
  const settings = ergometerRegisterSettingsSchema.parse(given);
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const set: number[] = [];
  const ergometer = createErgometerRegisterSimulator(
    ergometerRegisterSettingsSchema.parse(itsOwn),
    { timers: clock, random: createRandom(1), send: (bytes) => cable.arrive(bytes, clock.now()) },
    {
      readErgometer: () => new Map(Object.entries({ power: 100, cadence: 60 })),
      setPower: (watts) => set.push(watts),
    },
  );
  cable.onWrite((bytes) => {
    if (!keep && (bytes[1] === 6 || bytes[1] === 16)) cable.arrive(bytes, clock.now());
    else ergometer.receive(bytes);
  });
  ergometer.start();
  const context = { instrument: 'ergometer', settings, transport: cable, timers: clock, lines: createLineFramer, sink };
  const session = ergometerModbusRegisters.open(context);
  const ask = async (watts: number, output = 'power'): Promise<unknown> => {
    let outcome: unknown = null;
    const asked = session.actuator?.set(output, watts) ?? Promise.reject(new Error('it cannot be set'));
    void asked.then(
      () => (outcome = 'set'),
      (error: unknown) => (outcome = (error as { code?: string }).code ?? String(error)),
    );
    for (let step = 0; step < 400 && outcome === null; step += 1) {
      clock.advance(10_000);
      await settlePromises();
    }
    return outcome;
  };
  return { session, sink, set, ask };
}

describe('an ergometer with registers', () => {
  it('is set, and believed when its register says so', async () => {
    const { ask, session, set, sink } = bench();
    expect(session.actuator?.outputs).toMatchObject([{ output: 'power', unit: 'W', low: 0, high: 300, restValue: 0 }]);
    expect(await ask(150)).toBe('set');
    expect(await ask(0)).toBe('set');
    expect(set).toEqual([150, 0]);
    expect(sink.problems).toEqual([]);
    session.end();
  });

  it('is set by a number of two registers, in either order, only when both are there', async () => {
    for (const wordOrder of ['high-first', 'low-first']) {
      const { ask, session, set } = bench({ wordOrder, setPower: { register: 10, type: 'float32' } });
      expect(await ask(127.5)).toBe('set');
      expect(set).toEqual([127.5]);
      session.end();
    }
  });

  it('is asked for no more than the rig allows, nor for what it does not have', async () => {
    const { ask, session, set } = bench();
    for (const watts of [-1, 301, Number.NaN]) expect(await ask(watts)).toBe('request-refused');
    expect(await ask(5, 'speed')).toBe('request-refused');
    expect(set).toEqual([]);
    session.end();
  });

  it('may refuse by itself, and then keeps what it had', async () => {
    const { ask, session, set } = bench({ highestPower: 500 }, { highestPower: 300 });
    expect(await ask(120)).toBe('set');
    expect(await ask(400)).toBe('request-refused');
    expect(set).toEqual([120]);
    session.end();
  });

  it('is not believed when it acknowledges and its register says another power', async () => {
    const { ask, session, set } = bench({}, {}, false);
    expect(await ask(120)).toBe('answer-unexpected');
    expect(set).toEqual([]);
    session.end();
  });

  it('is asked for no power that its register cannot hold', async () => {
    const { ask, session, set } = bench({ setPower: { register: 0, type: 'uint16', scale: 25 }, highestPower: 250 });
    expect(await ask(0)).toBe('set');
    expect(await ask(250)).toBe('set');
    expect(set).toEqual([0, 250]);
    session.end();
  });

  it.each([
    [{ setPower: { register: 65_535, type: 'float32' } }, 'setPower'],
    [{ setPower: { register: 0, type: 'uint16', table: 'input' } }, 'setPower'],
    // Zero would be 25 W on the wire; every power would be zero; the most would be another; more than the most.
    [{ setPower: { register: 0, type: 'uint16', scale: 5, offset: 25 } }, 'setPower'],
    [{ setPower: { register: 0, type: 'uint16', scale: -1 } }, 'setPower'],
    [{ setPower: { register: 0, type: 'int16', scale: 0.001 } }, 'setPower'],
    [{ setPower: { register: 0, type: 'uint16', scale: 25 }, highestPower: 263 }, 'setPower'],
    [{ setPower: null }, 'setPower'],
    [{ highestPower: 1_001 }, 'highestPower'],
    [{ registers: { power: null, cadence: null } }, 'registers'],
  ])('refuses %j, naming %s', (settings, field) => {
    const parsed = ergometerRegisterSettingsSchema.safeParse(settings);
    expect(parsed.error?.issues.map(({ path }) => path[0])).toContain(field);
  });
});
