import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import { createBeatAverage } from '../../../../drivers/heart-rate/beat-lines/codec.ts';
import { beatSettingsSchema, heartRateBeatLines } from '../../../../drivers/heart-rate/beat-lines/manifest.ts';
import { createManualClock, createRecordingSink, createTestCable, latin1 } from '../../../contract/drivers/support.ts';

function bench(settings: Record<string, unknown> = {}) {
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const session = heartRateBeatLines.open({
    instrument: 'belt',
    settings: beatSettingsSchema.parse(settings),
    transport: cable,
    timers: clock,
    lines: createLineFramer,
    sink,
    openedAtMicroseconds: 0,
  });
  const say = (...lines: readonly string[]): void => {
    for (const line of lines) cable.arrive(latin1(`${line}\n`), clock.now());
  };
  const rates = (): number[] =>
    sink.readings.filter(({ stream }) => stream === 'heart-rate').map(({ value }) => Math.round(value * 1000) / 1000);
  return { clock, sink, session, say, rates };
}

describe('a heart rate of intervals', () => {
  it('is 60 000 divided by the mean of the newest (by hand: 800, 1000, 600, 800, 1200 ms)', () => {
    const average = createBeatAverage(4);
    expect([800, 1000, 600, 800, 1200].map((interval) => average.add(interval).toFixed(4))).toEqual([
      '75.0000',
      '66.6667',
      '75.0000',
      '75.0000',
      '66.6667',
    ]);
    average.forget();
    expect(average.add(500)).toBe(120);
  });
});

describe('a receiver that prints intervals', () => {
  it('gives interval and rate with each beat', () => {
    const { say, sink, rates } = bench();
    say('800', '1000', '600');
    expect(rates()).toEqual([75, 66.667, 75]);
    expect(sink.readings.filter(({ stream }) => stream === 'rr-interval').map(({ value }) => value)).toEqual([
      800, 1000, 600,
    ]);
  });

  it('reads seconds where the line says so', () => {
    const { say, rates } = bench({ line: 'RR={rr-interval}', units: { 'rr-interval': 's' } });
    say('RR=0.800');
    expect(rates()).toEqual([75]);
  });

  it('keeps a missed beat, reports it, and makes no rate of it nor of those before it', () => {
    const { say, sink, rates } = bench();
    say('800', '2500', '600', '600');
    expect(rates()).toEqual([75, 100, 100]);
    expect(sink.codes()).toEqual(['reading-out-of-range']);
    expect(sink.readings.filter(({ stream }) => stream === 'rr-interval')).toHaveLength(4);
  });

  it('begins anew after a line that is none, and after a silence', () => {
    const { say, clock, sink, rates } = bench();
    say('800', 'lead off', '600');
    expect(rates()).toEqual([75, 100]);
    clock.advance(6_000_000);
    say('1000');
    expect(rates()).toEqual([75, 100, 60]);
    expect(sink.codes()).toEqual(['line-undecodable', 'silence']);
  });

  it('says when a rate made of plausible beats is beyond its own limit', () => {
    const { say, sink } = bench({ plausible: { 'heart-rate': { low: 30, high: 180 } } });
    say('300');
    expect(sink.problems).toEqual([expect.objectContaining({ code: 'reading-out-of-range' })]);
    expect(sink.problems[0]?.detail).toContain('heart-rate 200');
  });
});
