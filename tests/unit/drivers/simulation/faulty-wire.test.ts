import { describe, expect, it } from 'vitest';
import { createFaultyWire } from '../../../../drivers/simulation/faulty-wire.ts';
import type { WireFault } from '../../../../src/device/simulator.ts';
import { createManualClock, createRandom } from '../../../contract/drivers/support.ts';

function wireWith(seed = 1) {
  const clock = createManualClock();
  let sent = '';
  let draws = 0;
  const random = createRandom(seed);
  const wire = createFaultyWire({
    context: {
      timers: clock,
      random: () => {
        draws += 1;
        return random();
      },
      send: (bytes) => {
        sent += Buffer.from(bytes).toString('latin1');
      },
    },
    delimiter: ';',
    spoilChecksum: (line) => `${line}!`,
  });
  const under = (fault: WireFault['fault'], lines: readonly string[]): string => {
    sent = '';
    wire.inject({ fault, seconds: 1 });
    for (const line of lines) wire.sendLine(line);
    return sent;
  };
  return {
    clock,
    wire,
    under,
    sentBy: (line: string) => {
      sent = '';
      wire.sendLine(line);
      return sent;
    },
    draws: () => draws,
  };
}

describe('faulty wire', () => {
  it('draws nothing and changes nothing without a fault', () => {
    const { sentBy, draws } = wireWith();
    expect(sentBy('abc')).toBe('abc;');
    expect(draws()).toBe(0);
  });

  it('does what each fault says', () => {
    expect(wireWith().under('silence', ['a', 'b'])).toBe('');
    expect(wireWith().under('merged', ['a', 'b', 'c', 'd'])).toBe('ab;cd;');
    expect(wireWith().under('wrong-checksum', ['a'])).toBe('a!;');
    const frozen = wireWith();
    frozen.sentBy('before');
    expect(frozen.under('frozen', ['x', 'y'])).toBe('before;before;');
    for (let seed = 1; seed < 50; seed += 1) {
      const cut = wireWith(seed).under('truncated', ['abcdef']).replace(';', '');
      expect('abcdef'.startsWith(cut)).toBe(true);
      expect(cut.length).toBeLessThan(6);
    }
    const garbled = Array.from({ length: 50 }, (_, seed) => wireWith(seed).under('garbage', ['abcdef']));
    expect(garbled.filter((line) => line === 'abcdef;').length).toBeLessThan(3);
    expect(garbled.some((line) => line.endsWith('abcdef;'))).toBe(true);
    expect(garbled.some((line) => !line.endsWith('abcdef;'))).toBe(true);
  });

  it('ends each fault at its time, prolongs it when injected again, and leaves no timer', () => {
    const { clock, wire, sentBy } = wireWith();
    wire.inject({ fault: 'silence', seconds: 1 });
    clock.advance(0.9e6);
    wire.inject({ fault: 'silence', seconds: 1 });
    wire.inject({ fault: 'wrong-checksum', seconds: 5 });
    clock.advance(0.9e6);
    expect(sentBy('a')).toBe('');
    clock.advance(0.1e6);
    expect(sentBy('a')).toBe('a!;');
    wire.stop();
    expect(sentBy('a')).toBe('a;');
    expect(clock.timerCount).toBe(0);
  });
});
