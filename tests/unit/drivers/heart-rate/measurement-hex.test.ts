import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import {
  decodeLine,
  decodePayload,
  encodePayload,
  formatHex,
  parseHex,
} from '../../../../drivers/heart-rate/measurement-hex/codec.ts';
import { openHeartRate } from '../../../../drivers/heart-rate/measurement-hex/driver.ts';
import { heartRateSettingsSchema } from '../../../../drivers/heart-rate/measurement-hex/manifest.ts';
import { createHeartRateSimulator } from '../../../../drivers/heart-rate/measurement-hex/simulator.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  latin1,
} from '../../../contract/drivers/support.ts';

function openBelt(raw: Record<string, unknown> = {}) {
  const settings = heartRateSettingsSchema.parse(raw);
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const session = openHeartRate({
    instrument: 'belt',
    settings,
    transport: cable,
    timers: clock,
    lines: createLineFramer,
    sink,
  });
  return { settings, clock, cable, sink, session };
}

describe('hex lines', () => {
  it.each([
    ['16 48 58 03', [0x16, 0x48, 0x58, 0x03]],
    ['16485803', [0x16, 0x48, 0x58, 0x03]],
    ['  1648\t5803 \r', [0x16, 0x48, 0x58, 0x03]],
    ['aB Cd', [0xab, 0xcd]],
    ['   ', []],
  ])('%j', (line, bytes) => {
    expect([...(parseHex(line) ?? [-1])]).toEqual(bytes);
  });

  it.each(['1', '164', '1 6', '16 4', 'xx', '0x16', '16,48', '-1', '+1'])('%j is not hex bytes', (line) => {
    expect(parseHex(line)).toBeUndefined();
    expect(decodeLine(line)).toMatchObject({ decoded: 'problem', code: 'line-undecodable' });
  });

  it('decodes what it encodes', () => {
    const measurement = fc.record({
      heartRate: fc.nat(0xffff),
      contact: fc.constantFrom('unsupported' as const, 'detected' as const, 'lost' as const),
      energyKilojoules: fc.option(fc.nat(0xffff), { nil: undefined }),
      rrIntervalsMilliseconds: fc.array(
        fc.nat(0xffff).map((units) => (units * 1000) / 1024),
        { maxLength: 20 },
      ),
    });
    fc.assert(
      fc.property(measurement, (content) => {
        const payload = encodePayload(content);
        expect(decodePayload(payload)).toEqual({ decoded: 'measurement', measurement: content });
        expect(decodeLine(formatHex(payload))).toEqual({ decoded: 'measurement', measurement: content });
      }),
    );
  });

  it('clamps what a field cannot hold', () => {
    const payload = encodePayload({
      heartRate: -5,
      contact: 'detected',
      energyKilojoules: 1e9,
      rrIntervalsMilliseconds: [1e9, -1],
    });
    expect(formatHex(payload)).toBe('1E 00 FF FF FF FF 00 00');
  });

  it('never throws, and takes a part of a larger buffer for what it is', () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 40 }), (payload) => void decodePayload(payload)));
    expect(decodePayload(Uint8Array.of(0xff, 0x00, 0x48, 0xff).subarray(1, 3))).toMatchObject({
      measurement: { heartRate: 72 },
    });
  });
});

describe('heart-rate driver', () => {
  it('gives no heart rate and no RR interval without contact, but the energy', () => {
    const { cable, sink, session } = openBelt();
    cable.arrive(latin1('1C 48 10 00 58 03\n'), 5);
    expect(sink.readings).toEqual([{ stream: 'energy', value: 16, at: 5 }]);
    expect(sink.problems).toEqual([expect.objectContaining({ code: 'contact-lost', byteCount: 18, at: 5 })]);
    session.end();
  });

  it('counts lost contact as silence of the heart rate', () => {
    const { cable, clock, sink, session } = openBelt();
    for (let second = 0; second < 10; second += 1) {
      cable.arrive(latin1('04 48\n'), clock.now());
      clock.advance(1e6);
    }
    expect(sink.problems.filter((problem) => problem.code === 'silence')).toEqual([
      expect.objectContaining({ at: 5e6 }),
    ]);
    session.end();
    expect(clock.timerCount).toBe(0);
  });

  it('reports malformed payloads with their bytes and goes on', () => {
    const { cable, sink, session } = openBelt();
    cable.arrive(latin1('01 48\n \n10 48 58\n00 48\n'), 5);
    expect(sink.codes()).toEqual(['payload-malformed', 'payload-malformed', 'payload-malformed']);
    expect(sink.problemBytes).toBe(6 + 2 + 9);
    expect(sink.readings).toEqual([{ stream: 'heart-rate', value: 72, at: 5 }]);
    session.end();
  });

  it('keeps implausible values and reports them', () => {
    const { cable, sink, session } = openBelt();
    cable.arrive(latin1('10 00 00 00\n01 2C 01\n'), 5);
    expect(sink.readings.map(({ value }) => value)).toEqual([0, 0, 300]);
    expect(sink.codes()).toEqual(['reading-out-of-range', 'reading-out-of-range', 'reading-out-of-range']);
    session.end();
  });

  it.each([
    [{ silenceLimitSeconds: 1 }, 'silenceLimitSeconds'],
    [{ plausibleLow: 300 }, 'plausibleLow'],
    [{ plausibleRrLow: 5000 }, 'plausibleRrLow'],
  ])('refuses the settings %j at %s', (raw, field) => {
    expect(heartRateSettingsSchema.safeParse(raw).error?.issues.map((issue) => issue.path[0])).toContain(field);
  });
});

describe('heart-rate simulator', () => {
  it('carries RR intervals that do not fit over to the next payload, and drops those without contact', () => {
    const { settings, clock, cable, sink, session } = openBelt();
    let waiting = Array.from({ length: 12 }, (_, index) => 500 + index);
    let contact = true;
    const simulator = createHeartRateSimulator(
      settings,
      {
        timers: clock,
        random: createRandom(1),
        send: (bytes) => {
          cable.arrive(bytes, clock.now());
        },
      },
      {
        heartRate: () => 118.4,
        takeRrIntervals: () => waiting.splice(0),
        contact: () => contact,
        intervalMicroseconds: 1e6,
      },
    );
    const intervals = (): number[] =>
      sink.readings.filter(({ stream }) => stream === 'rr-interval').map(({ value }) => value);
    simulator.start();
    clock.advance(1e6);
    expect(intervals()).toHaveLength(9);
    clock.advance(1e6);
    expect(intervals()).toHaveLength(12);
    for (const [index, value] of intervals().entries())
      expect(Math.abs(value - 500 - index)).toBeLessThanOrEqual(500 / 1024);
    contact = false;
    waiting = [700, 700];
    clock.advance(1e6);
    contact = true;
    clock.advance(1e6);
    expect(intervals()).toHaveLength(12);
    expect(sink.codes()).toEqual(['contact-lost']);
    expect(sink.readings.filter(({ stream }) => stream === 'heart-rate').map(({ value }) => value)).toEqual([
      118, 118, 118,
    ]);
    simulator.stop();
    session.end();
    expect(clock.timerCount).toBe(0);
  });
});
