import { describe, expect, it } from 'vitest';
import { heardPriority, melodies } from '../../../../renderer/trial/alarm-sound.ts';
import { contactLost } from '../../../../renderer/ui/sound.ts';
import type { AlarmPriority, AlarmView } from '../../../../src/bridge/snapshot.ts';

function alarm(priority: AlarmPriority, change: Partial<AlarmView> = {}): AlarmView {
  return {
    alarm: 'wrong-port',
    title: null,
    instrument: null,
    priority,
    detail: '',
    action: '',
    raisedAt: '2026-11-25T10:22:50.000Z',
    lastedSeconds: null,
    acknowledged: false,
    ...change,
  };
}

describe('the sound of alarms', () => {
  it('is that of the highest priority which nobody has acknowledged', () => {
    expect(heardPriority([])).toBeNull();
    expect(heardPriority([alarm('low'), alarm('high'), alarm('medium')])).toBe('high');
    expect(heardPriority([alarm('high', { acknowledged: true }), alarm('medium')])).toBe('medium');
    expect(heardPriority([alarm('high', { acknowledged: true })])).toBeNull();
  });

  it('lasts when the cause has gone and nobody has acknowledged', () => {
    expect(heardPriority([alarm('high', { lastedSeconds: 4 })])).toBe('high');
  });

  it('has five tones twice every ten seconds, three every thirty, and one', () => {
    expect(melodies.high.tones).toHaveLength(10);
    expect(melodies.high.againSeconds).toBe(10);
    expect(melodies.medium.tones).toHaveLength(3);
    expect(melodies.medium.againSeconds).toBe(30);
    expect(melodies.low.tones).toHaveLength(1);
    expect(melodies.low.againSeconds).toBeNull();
  });

  it.each([...Object.entries(melodies), ['contact lost', contactLost] as const])(
    'is between 150 and 1000 Hz, and its tones do not overlap: %s',
    (_, { tones, toneSeconds, againSeconds }) => {
      for (const { pitchHertz } of tones) {
        expect(pitchHertz).toBeGreaterThanOrEqual(150);
        expect(pitchHertz).toBeLessThanOrEqual(1000);
      }
      const starts = tones.map(({ start }) => start);
      for (const [index, start] of starts.entries()) {
        expect((starts[index + 1] ?? againSeconds ?? Infinity) - start).toBeGreaterThan(toneSeconds);
      }
    },
  );
});
