import { describe, expect, it } from 'vitest';
import { createClimateRegisterCodec } from '../../../../drivers/climate/modbus-registers/codec.ts';
import { climateRegisterSettingsSchema } from '../../../../drivers/climate/modbus-registers/manifest.ts';
import { registerOutput, runsOf } from '../../../../drivers/framing/register-table.ts';

const codecOf = (settings: Record<string, unknown>) =>
  createClimateRegisterCodec(climateRegisterSettingsSchema.parse(settings));
const floats = {
  wordOrder: 'low-first',
  registers: {
    temperature: { table: 'holding', register: 10, type: 'float32' },
    humidity: { table: 'holding', register: 12, type: 'float32' },
    pressure: null,
  },
};
const registers = (...words: readonly number[]) => ({ answer: 'registers', registers: words }) as const;

describe('values in registers', () => {
  it('asks for neighbours together, and for nothing that nobody named', () => {
    expect(codecOf({}).requests).toEqual([{ function: 4, start: 0, count: 3 }]);
    expect(codecOf(floats).requests).toEqual([{ function: 3, start: 10, count: 4 }]);
    expect(codecOf({ ...floats, status: { table: 'input', register: 7, good: [1] } }).requests).toEqual([
      { function: 4, start: 7, count: 1 },
      { function: 3, start: 10, count: 4 },
    ]);
    expect(runsOf(1, [9, 3, 4, 3, 10, 20], 125)).toEqual([
      { function: 1, start: 3, count: 2 },
      { function: 1, start: 9, count: 2 },
      { function: 1, start: 20, count: 1 },
    ]);
    expect(runsOf(3, [0, 1, 2, 3, 4], 2).map(({ count }) => count)).toEqual([2, 2, 1]);
  });

  it('reads floating-point numbers in either order of words', () => {
    // 21.5 is 41AC 0000, 41.2 is 4224 CCCD in single precision.
    const low = codecOf(floats).read([registers(0x0000, 0x41ac, 0xcccd, 0x4224)]);
    const high = codecOf({ ...floats, wordOrder: 'high-first' }).read([registers(0x41ac, 0x0000, 0x4224, 0xcccd)]);
    for (const said of [low, high]) {
      expect(said).toEqual({
        read: 'values',
        values: new Map([
          ['temperature', 21.5],
          ['humidity', Math.fround(41.2)],
        ]),
      });
    }
  });

  it('doubts a status that is not good, and a number that is none', () => {
    const codec = codecOf({ ...floats, status: { table: 'holding', register: 14, good: [0, 2] } });
    expect(codec.requests).toEqual([{ function: 3, start: 10, count: 5 }]);
    const words = [0x0000, 0x41ac, 0xcccd, 0x4224] as const;
    expect(codec.read([registers(...words, 2)])).toMatchObject({ read: 'values' });
    expect(codec.read([registers(...words, 1)])).toEqual({ read: 'doubt', detail: 'its status is 1' });
    // 7FC0 0000 is not a number, FF80 0000 less than any.
    for (const word of [0x7fc0, 0xff80]) {
      expect(codec.read([registers(0, word, 0xcccd, 0x4224, 0)])).toEqual({
        read: 'doubt',
        detail: 'temperature is no number',
      });
    }
  });

  it('writes registers that it reads', () => {
    const codec = codecOf({});
    const written = codec.write(new Map(Object.entries({ temperature: -5, humidity: 41.2, pressure: 1008.4 })));
    expect([...written]).toEqual([
      ['input 0', 0xffce],
      ['input 1', 412],
      ['input 2', 10_084],
    ]);
  });

  it.each([
    [{ registers: { temperature: null, humidity: null, pressure: null } }, 'registers'],
    [{ registers: { temperature: { table: 'input', register: 65_535, type: 'float32' } } }, 'registers'],
    [{ registers: { flow: { table: 'input', register: 0, type: 'uint16' } } }, 'registers'],
    [{ registers: { temperature: { table: 'input', register: 0, type: 'uint16', scale: 0 } } }, 'registers'],
    [{ address: 0 }, 'address'],
    [{ address: 248 }, 'address'],
    [{ intervalSeconds: 5 }, 'silenceLimitSeconds'],
  ])('refuses %j, naming %s', (settings, field) => {
    const parsed = climateRegisterSettingsSchema.safeParse(settings);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.issues.map(({ path }) => path[0])).toContain(field);
  });

  it('sets an output by one register or two, and believes what is read back', () => {
    const descriptor = { output: 'power', unit: 'W', low: 0, high: 500, restValue: 0 } as const;
    const place = { table: 'holding', register: 4, type: 'uint16', scale: 0.5, offset: 0 } as const;
    const whole = registerOutput(descriptor, place, 'high-first');
    expect(whole.write(125)).toEqual({ function: 6, register: 4, value: 250 });
    expect(whole.readBack).toEqual({ function: 3, start: 4, count: 1 });
    expect(whole.isSet(registers(250), 125)).toBe(true);
    expect(whole.isSet(registers(251), 125)).toBe(false);
    expect(whole.isSet({ answer: 'written' }, 125)).toBe(false);
    const float = registerOutput(descriptor, { ...place, type: 'float32', scale: 1 }, 'low-first');
    expect(float.write(12.5)).toEqual({ function: 16, start: 4, registers: [0, 0x4148] });
    expect(float.isSet(registers(0, 0x4148), 12.5)).toBe(true);
    expect(float.isSet(registers(0x4148, 0), 12.5)).toBe(false);
  });
});
