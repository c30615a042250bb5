import { describe, expect, it } from 'vitest';
import { createBreathCodec } from '../../../../drivers/breathing/breath-lines/codec.ts';
import { breathingBreathLines, breathSettingsSchema } from '../../../../drivers/breathing/breath-lines/manifest.ts';
import { createFlowCodec } from '../../../../drivers/breathing/flow-lines/codec.ts';
import { breathingFlowSettingsSchema } from '../../../../drivers/breathing/flow-lines/manifest.ts';

describe('lines about breathing', () => {
  it.each([
    // The lines of the README beside the driver; −0.207 L/s is −12.42 L/min.
    [{}, 'q -12.4 *45', -12.4],
    [{ line: '{flow}', units: { flow: 'L/s' }, checksum: 'none', expectedIntervalSeconds: 0.02 }, '-0.207', -12.42],
    // Positive out of the subject on the wire, into it in the reading.
    [{ line: '{flow}', checksum: 'none', inward: 'negative' }, '-12.4', 12.4],
    [{ line: 'F;{flow};{status}', decimalMark: ',', goodStatus: ['0'], checksum: 'none' }, 'F;-12,4;0', -12.4],
  ])('%j: %j is %d L/min', (settings, line, flow) => {
    const decoded = createFlowCodec(breathingFlowSettingsSchema.parse(settings)).decode(line);
    expect(decoded.decoded === 'values' ? decoded.values.get('flow') : decoded).toBeCloseTo(flow, 9);
  });

  it('turns a flow round both ways, and leaves what is none alone', () => {
    const settings = breathingFlowSettingsSchema.parse({ line: 'q {flow}', checksum: 'none', inward: 'negative' });
    const codec = createFlowCodec(settings);
    expect(codec.encode(new Map([['flow', 12.4]]))).toBe('q -12.4');
    expect(codec.decode('q ?').decoded).toBe('problem');
  });

  it('takes a volume in millilitres, and computes nothing that is not in the line', () => {
    const settings = breathSettingsSchema.parse({
      line: 'VT {tidal-volume}',
      units: { 'tidal-volume': 'mL' },
      checksum: 'none',
    });
    const decoded = createBreathCodec(settings).decode('VT 1520');
    if (decoded.decoded !== 'values') throw new Error(decoded.detail);
    expect([...decoded.values.keys()]).toEqual(['tidal-volume']);
    expect(decoded.values.get('tidal-volume')).toBeCloseTo(1.52, 12);
    const streams = breathingBreathLines.streams('logger', settings);
    expect(streams.map(({ stream }) => stream)).toEqual(['tidal-volume']);
    // Breaths come when they come; that none comes for half a minute is a fault all the same.
    expect(streams[0]).toMatchObject({ expectedIntervalSeconds: null, silenceLimitSeconds: 30 });
  });
});
