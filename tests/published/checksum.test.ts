import { describe, expect, it } from 'vitest';
import { sumChecksum, xorChecksum } from '../../drivers/framing/checksum.ts';
import { createPhotometerCodec } from '../../drivers/photometer/text-lines/codec.ts';
import { photometerSettingsSchema } from '../../drivers/photometer/text-lines/manifest.ts';

describe('exclusive-or checksum', () => {
  // Common example sentences of the NMEA-style line, from memory; their checksums recomputed.
  it.each([
    ['GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,', '47'],
    ['GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W', '6A'],
    // Own line, computed.
    ['PTST,1,2,3', '1F'],
  ])('%s gives %s', (body, expected) => {
    expect(xorChecksum(body)).toBe(expected);
  });

  it('decodes an NMEA-style line by settings alone (computed)', () => {
    const codec = createPhotometerCodec(
      photometerSettingsSchema.parse({ line: '$PTST,{any},{any},{value}*{checksum}', checksumSkipsBytes: 1 }),
    );
    expect(codec.decode('$PTST,1,2,3*1F')).toEqual({ decoded: 'value', value: 3 });
    expect(codec.decode('$PTST,1,2,3*1E')).toMatchObject({ decoded: 'problem', code: 'checksum-wrong' });
  });
});

describe('sum modulo 256', () => {
  // Computed: '1' to '9' are 0x31 to 0x39, their sum is 477 = 0x1DD.
  it.each([
    ['123456789', 'DD'],
    ['', '00'],
    ['\u00ff\u0001', '00'],
    ['\u00ff\u00ff', 'FE'],
  ])('%j gives %s', (text, expected) => {
    expect(sumChecksum(text)).toBe(expected);
  });
});
