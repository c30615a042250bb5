import { describe, expect, it } from 'vitest';
import { ergometerLines, ergometerSettingsSchema } from '../../../../drivers/ergometer/lines/manifest.ts';
import { createErgometerSimulator } from '../../../../drivers/ergometer/lines/simulator.ts';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  latin1,
} from '../../../contract/drivers/support.ts';

function bench(given: Record<string, unknown> = {}, answers = true) {
  const settings = ergometerSettingsSchema.parse(given);
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const set: number[] = [];
  const ergometer = createErgometerSimulator(
    ergometerSettingsSchema.parse({}),
    { timers: clock, random: createRandom(1), send: (bytes) => cable.arrive(bytes, clock.now()) },
    {
      readErgometer: () => new Map(Object.entries({ power: 100, cadence: 60 })),
      setPower: (watts) => set.push(watts),
      intervalMicroseconds: 1_000_000,
    },
  );
  if (answers) cable.onWrite((bytes) => ergometer.receive(bytes));
  ergometer.start();
  const context = { instrument: 'ergometer', settings, transport: cable, timers: clock, lines: createLineFramer, sink };
  const session = ergometerLines.open(context);
  const ask = (watts: number, output = 'power'): Promise<unknown> =>
    (session.actuator?.set(output, watts) ?? Promise.reject(new Error('no actuator'))).then(
      () => 'set',
      (error: unknown) => (error as { code: string }).code,
    );
  return { clock, cable, sink, set, session, ask };
}

describe('an ergometer on lines', () => {
  it('is set, says so, and goes on printing', async () => {
    const { clock, cable, sink, set, session, ask } = bench();
    expect(session.actuator?.outputs).toMatchObject([{ output: 'power', unit: 'W', low: 0, high: 300, restValue: 0 }]);
    expect(await ask(120)).toBe('set');
    expect(set).toEqual([120]);
    expect(cable.written).toBe('power 120\n');
    clock.advance(1_000_000);
    expect(sink.readings.map(({ stream, value }) => [stream, value])).toEqual([
      ['power', 100],
      ['cadence', 60],
    ]);
    expect(sink.problems).toEqual([]);
  });

  it('is asked for no more than the rig allows, nor for what it does not have', async () => {
    const { cable, ask } = bench();
    for (const watts of [-1, 301, Number.NaN]) expect(await ask(watts)).toBe('request-refused');
    expect(await ask(5, 'speed')).toBe('request-refused');
    expect(cable.written).toBe('');
  });

  it('may refuse by itself', async () => {
    const { set, ask } = bench({ highestPower: 500 });
    expect(await ask(400)).toBe('request-refused');
    expect(set).toEqual([]);
  });

  it('is not believed when it says another power, or nothing, or says it late', async () => {
    const { clock, cable, sink, ask, session } = bench({}, false);
    const other = ask(120);
    cable.arrive(latin1('ok power 12\n'), 1);
    expect(await other).toBe('answer-unexpected');
    const silent = ask(120);
    clock.advance(1_000_000);
    expect(await silent).toBe('request-timed-out');
    cable.arrive(latin1('ok power 120\n'), 2);
    expect(sink.codes()).toEqual(['answer-unexpected']);
    session.end();
    expect(await ask(0)).toBe('transport-closed');
  });
});
