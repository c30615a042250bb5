import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import { concentrationOf, voltsOf } from '../../../../drivers/photometer/multimeter-scpi/codec.ts';
import {
  multimeterSettingsSchema,
  photometerMultimeterScpi,
} from '../../../../drivers/photometer/multimeter-scpi/manifest.ts';
import { createMultimeterSimulator } from '../../../../drivers/photometer/multimeter-scpi/simulator.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  latin1,
  settlePromises,
} from '../../../contract/drivers/support.ts';

const liveZero = { lowVolts: 1, highVolts: 5, highConcentration: 20 };

function bench(given: Record<string, unknown> = {}, known: Record<string, unknown> = given) {
  const settings = multimeterSettingsSchema.parse(given);
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const world = { concentration: 2 };
  const multimeter = createMultimeterSimulator(
    multimeterSettingsSchema.parse(known),
    {
      timers: clock,
      random: createRandom(1),
      send: (bytes) => {
        cable.arrive(bytes, clock.now());
      },
    },
    { readConcentration: () => world.concentration },
  );
  cable.onWrite((bytes) => {
    multimeter.receive(bytes);
  });
  multimeter.start();
  const session = photometerMultimeterScpi.open({
    instrument: 'photometer',
    settings,
    transport: cable,
    timers: clock,
    lines: createLineFramer,
    sink,
    openedAtMicroseconds: 0,
  });
  const pass = async (seconds: number): Promise<void> => {
    for (let step = 0; step < seconds * 20; step += 1) {
      clock.advance(50_000);
      await settlePromises();
    }
  };
  const valuesOf = (stream: string): number[] =>
    sink.readings.filter((reading) => reading.stream === stream).map(({ value }) => value);
  return { clock, cable, sink, world, multimeter, session, pass, valuesOf };
}

describe('scaling of an analogue output', () => {
  it.each([
    // 4 to 20 mA through 250 Ω: 1 V is nothing, 3 V half, 5 V all of 20 mg/m³ (by hand).
    [1, 0],
    [3, 10],
    [5, 20],
    [0.5, -2.5],
  ])('%d V of 1 to 5 V is %d mg/m³ of 20', (volts, concentration) => {
    const settings = multimeterSettingsSchema.parse(liveZero);
    expect(concentrationOf(volts, settings)).toBe(concentration);
    expect(voltsOf(concentration, settings)).toBe(volts);
  });
});

describe('a multimeter that speaks SCPI', () => {
  it('is identified, asked for its errors, then for voltages', async () => {
    const { cable, pass, valuesOf, sink } = bench({ ...liveZero, setup: ['CONF:VOLT:DC 10', 'VOLT:NPLC 1'] });
    await pass(0.5);
    expect(cable.written).toBe(
      'CONF:VOLT:DC 10\nVOLT:NPLC 1\n*IDN?\nSYST:ERR?\nMEAS:VOLT:DC?\nMEAS:VOLT:DC?\n',
    );
    expect(valuesOf('concentration')[0]).toBeCloseTo(2, 6);
    expect(valuesOf('voltage')[0]).toBeCloseTo(1.4, 8);
    expect(sink.problems).toEqual([]);
  });

  it('says what the queue of errors held: a command that it does not know', async () => {
    const { pass, sink } = bench({ setup: ['CONF:VOLT:ABC'] }, {});
    await pass(1);
    expect(sink.problems).toMatchObject([{ code: 'status-bad' }]);
    expect(sink.problems[0]?.detail).toContain('-113');
  });

  it('asks for the error after a question that it does not know, and says it once a question', async () => {
    const { cable, pass, sink } = bench({ query: 'MEAS:CURR?', timeoutSeconds: 0.1 }, {});
    await pass(1);
    expect(cable.written).toContain('MEAS:CURR?\nSYST:ERR?');
    expect(sink.codes()).toContain('status-bad');
    expect(sink.readings).toEqual([]);
  });

  it('gives no reading for an overload or no value, and goes on', async () => {
    const { world, pass, sink, valuesOf } = bench();
    for (const shown of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      world.concentration = shown;
      await pass(0.2);
    }
    world.concentration = 2;
    await pass(0.4);
    expect(sink.codes()).toEqual(['status-bad', 'status-bad', 'status-bad']);
    expect(valuesOf('concentration').every((value) => Math.abs(value - 2) < 1e-6)).toBe(true);
  });

  it('keeps and reports a voltage beyond the range of the output', async () => {
    const { world, pass, sink, valuesOf } = bench(liveZero);
    world.concentration = 20.3;
    await pass(0.2);
    expect(sink.problems).toEqual([]);
    world.concentration = -2.5;
    await pass(0.2);
    expect(sink.codes()).toEqual(['reading-out-of-range']);
    expect(sink.problems[0]?.detail).toContain('voltage 0.5');
    expect(valuesOf('concentration')).toHaveLength(2);
  });

  it('takes no voltage that nobody asked for', async () => {
    const { cable, clock, pass, sink, session } = bench();
    await pass(0.3);
    const before = sink.readings.length;
    cable.arrive(latin1('1.5\n'), clock.now());
    expect(sink.readings.length).toBe(before);
    expect(sink.codes()).toEqual(['answer-unexpected']);
    session.end();
    expect(clock.timerCount).toBe(0);
  });

  it.each([
    [{ lowVolts: 5 }, 'highVolts'],
    [{ highConcentration: 0 }, 'highConcentration'],
    [{ silenceLimitSeconds: 0.2 }, 'silenceLimitSeconds'],
    [{ query: '' }, 'query'],
    [{ setup: ['ü'] }, 'setup'],
  ])('refuses %j, naming %s', (settings, field) => {
    const parsed = multimeterSettingsSchema.safeParse(settings);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.issues.map(({ path }) => path[0])).toContain(field);
  });
});
