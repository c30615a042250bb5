import { describe, expect, it } from 'vitest';
import { climateSettingsSchema } from '../../../../drivers/climate/lines/manifest.ts';
import { climateLineDefaults, climateQuantities, createClimateCodec } from '../../../../drivers/climate/lines/codec.ts';
import { describeQuantities } from '../../../../drivers/framing/quantity.ts';
import { quantitiesInLine } from '../../../../drivers/framing/value-line.ts';

const codecOf = (settings: Record<string, unknown>) => createClimateCodec(climateSettingsSchema.parse(settings));
const decoded = (settings: Record<string, unknown>, line: string): unknown => {
  const said = codecOf(settings).decode(line);
  return said.decoded === 'values' ? Object.fromEntries(said.values) : said.code;
};
const plain = { line: '{temperature};{humidity};{status}', checksum: 'none' };

describe('lines of values', () => {
  it.each([
    // The lines of the README beside the driver.
    [{}, 'climate 21.35 C 41.20 % 1008.4 hPa ok *51', { temperature: 21.35, humidity: 41.2, pressure: 1008.4 }],
    [
      { line: '{temperature};{humidity}', decimalMark: ',', checksum: 'none' },
      '21,3;41',
      { temperature: 21.3, humidity: 41 },
    ],
    [{ line: 'P={pressure}', units: { pressure: 'Pa' }, checksum: 'none' }, 'P=100840', { pressure: 1008.4 }],
    [plain, ' 21.5;41;ok\r', { temperature: 21.5, humidity: 41 }],
  ])('%j: %j', (settings, line, values) => {
    expect(decoded(settings, line)).toEqual(values);
  });

  it.each([
    ['21.5;;ok', 'line-undecodable'],
    [';41;ok', 'line-undecodable'],
    ['nan;41;ok', 'line-undecodable'],
    ['21.5;1e999;ok', 'line-undecodable'],
    ['21.5;41', 'line-undecodable'],
    ['21.5;41;warming up', 'status-bad'],
    ['nan;41;warming up', 'status-bad'],
  ])('%j gives no reading of any stream: %s', (line, code) => {
    expect(decoded(plain, line)).toBe(code);
  });

  it('prints what it reads, in the units of the line', () => {
    const inKilopascal = { line: '{pressure}', units: { pressure: 'kPa' }, checksum: 'none' };
    for (const settings of [{}, { ...plain, decimalMark: ',' }, inKilopascal]) {
      const codec = codecOf(settings);
      const values = new Map([
        ['temperature', 21.25],
        ['humidity', 40.5],
        ['pressure', 1008.4],
      ]);
      const line = codec.encode(values);
      expect(codec.fits(line)).toBe(true);
      const said = codec.decode(line);
      if (said.decoded !== 'values') throw new Error(`${line}: ${said.detail}`);
      expect(said.values.size).toBeGreaterThan(0);
      for (const [stream, value] of said.values) expect(value).toBeCloseTo(values.get(stream) ?? Number.NaN, 9);
    }
  });

  it('delivers the streams that are in the line, with the limits that the rig states', () => {
    const settings = climateSettingsSchema.parse({ ...plain, plausible: { humidity: { low: 20, high: null } } });
    const streams = describeQuantities('air', quantitiesInLine(settings, climateQuantities), settings);
    expect(streams.map(({ stream, plausibleLow, plausibleHigh }) => [stream, plausibleLow, plausibleHigh])).toEqual([
      ['temperature', -20, 60],
      ['humidity', 20, null],
    ]);
  });

  it.each([
    [{ line: 'nothing', checksum: 'none' }, 'line'],
    [{ line: '{flow}', checksum: 'none' }, 'line'],
    [{ line: '{temperature}{humidity}', checksum: 'none' }, 'line'],
    [{ line: '{temperature} *{checksum}', checksum: 'none' }, 'checksum'],
    [{ line: '{temperature}', checksum: 'xor-hex' }, 'checksum'],
    [{ line: '{temperature};C{checksum}' }, 'checksumMark'],
    [{ ...plain, goodStatus: [] }, 'goodStatus'],
    [{ units: { temperature: 'Pa' } }, 'units'],
    [{ units: { flow: 'L/s' } }, 'units'],
    [{ plausible: { temperature: { low: 5, high: 5 } } }, 'plausible'],
    [{ silenceLimitSeconds: 1 }, 'silenceLimitSeconds'],
    [{ poll: { command: '' } }, 'poll'],
  ])('refuses %j, naming %s', (settings, field) => {
    const parsed = climateSettingsSchema.safeParse(settings);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.issues.map(({ path }) => path[0])).toContain(field);
  });

  it('has defaults that stand for themselves', () => {
    expect(climateSettingsSchema.parse({}).line).toBe(climateLineDefaults.line);
  });
});
