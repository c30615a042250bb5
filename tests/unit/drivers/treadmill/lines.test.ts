import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import { treadmillLines, treadmillSettingsSchema } from '../../../../drivers/treadmill/lines/manifest.ts';
import { createTreadmillSimulator } from '../../../../drivers/treadmill/lines/simulator.ts';
import { scenarios } from '../../../../drivers/virtual-rig/scenarios/index.ts';
import { guardDuties } from '../../../../src/host/guard/duties.ts';
import { putsLoad, rigSchema } from '../../../../src/model/rig.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
} from '../../../contract/drivers/support.ts';

function bench(given: Record<string, unknown> = {}) {
  const settings = treadmillSettingsSchema.parse(given);
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const set: number[] = [];
  const treadmill = createTreadmillSimulator(
    treadmillSettingsSchema.parse({}),
    { timers: clock, random: createRandom(1), send: (bytes) => cable.arrive(bytes, clock.now()) },
    {
      readTreadmill: () => new Map(Object.entries({ speed: 4.8, incline: -1.5 })),
      setSpeed: (speed) => set.push(speed),
      intervalMicroseconds: 1_000_000,
    },
  );
  cable.onWrite((bytes) => treadmill.receive(bytes));
  treadmill.start();
  const context = { instrument: 'treadmill', settings, transport: cable, timers: clock, lines: createLineFramer, sink };
  const session = treadmillLines.open(context);
  const ask = (speed: number, output = 'speed'): Promise<unknown> =>
    (session.actuator?.set(output, speed) ?? Promise.reject(new Error('no actuator'))).then(
      () => 'set',
      (error: unknown) => (error as { code: string }).code,
    );
  return { clock, cable, sink, set, session, ask };
}

describe('a treadmill on lines', () => {
  it('is set, says so, and goes on printing speed and incline', async () => {
    const { ask, cable, clock, session, set, sink } = bench();
    expect(session.actuator?.outputs).toMatchObject([{ output: 'speed', unit: 'km/h', low: 0, high: 8, restValue: 0 }]);
    expect(await ask(5.25)).toBe('set');
    expect(cable.written).toMatch(/^speed 5\.[23]\n$/);
    expect(set).toHaveLength(1);
    expect(await ask(0)).toBe('set');
    expect(set.at(-1)).toBe(0);
    clock.advance(1_000_000);
    expect(sink.readings.map(({ stream, value }) => [stream, value])).toEqual([
      ['speed', 4.8],
      ['incline', -1.5],
    ]);
    expect(sink.problems).toEqual([]);
  });

  it('is asked for no more than the rig allows, never to run backwards, and not to lean', async () => {
    const { ask, cable } = bench({ highestSpeed: 6 });
    for (const speed of [-0.1, 6.1, Number.NaN]) expect(await ask(speed)).toBe('request-refused');
    expect(await ask(2, 'incline')).toBe('request-refused');
    expect(cable.written).toBe('');
  });

  it('may refuse by itself', async () => {
    const { ask, set } = bench({ highestSpeed: 25 });
    expect(await ask(12)).toBe('request-refused');
    expect(set).toEqual([]);
  });

  it.each([
    [{ command: 'speed' }, 'command'],
    [{ command: 'speed {value} {any}' }, 'command'],
    [{ acknowledge: 'ok' }, 'acknowledge'],
    [{ refusal: 'no {value}' }, 'refusal'],
    [{ highestSpeed: 26 }, 'highestSpeed'],
    [{ highestSpeed: 7.96 }, 'highestSpeed'],
    [{ highestPower: 100 }, ''],
  ])('refuses %j, naming %s', (settings, field) => {
    const parsed = treadmillSettingsSchema.safeParse(settings);
    expect(parsed.error?.issues.map(({ path }) => path[0] ?? '')).toContain(field);
  });

  it('is a load, which the guard brings to rest', () => {
    expect(putsLoad('treadmill')).toBe(true);
    const { rig } = scenarios.demo;
    const drive = { instrument: 'belt-drive', kind: 'treadmill', dialect: 'lines', settings: {} };
    const instruments = [...rig.instruments, drive];
    const acts = guardDuties(rigSchema.parse({ ...rig, instruments }));
    expect(acts).toContainEqual(expect.objectContaining({ instrument: 'belt-drive', act: { act: 'rest' } }));
  });
});
