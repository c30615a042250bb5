// @vitest-environment jsdom
import { afterEach, describe, expect, it, vi } from 'vitest';
import { contactLost, sound, soundState } from '../../../../renderer/ui/sound.ts';

/** An audio context as browsers make it before anybody has pressed anything: it stays asleep until a gesture. */
class SleepyContext extends EventTarget {
  static touched = false;
  state: 'suspended' | 'running' | 'closed' = 'suspended';
  currentTime = 0;
  destination = {};
  static started = 0;
  resume(): Promise<void> {
    if (SleepyContext.touched && this.state === 'suspended') {
      this.state = 'running';
      this.dispatchEvent(new Event('statechange'));
    }
    return Promise.resolve();
  }
  close(): Promise<void> {
    this.state = 'closed';
    return Promise.resolve();
  }
  createOscillator(): object {
    const started = (): void => void (SleepyContext.started += 1);
    return { frequency: {}, connect: (next: unknown) => next, start: started, stop: () => undefined };
  }
  createGain(): object {
    const gain = { setValueAtTime: () => undefined, linearRampToValueAtTime: () => undefined };
    return { gain, connect: (next: unknown) => next };
  }
}

describe('the sound of a window in which nobody has pressed anything', () => {
  afterEach(() => vi.unstubAllGlobals());

  it('is known to be silent until the first key, and heard from then on', () => {
    vi.stubGlobal('AudioContext', SleepyContext);
    const end = sound(contactLost);
    expect(soundState.getState().asleep).toBe(true);
    window.dispatchEvent(new Event('focus'));
    expect(soundState.getState().asleep).toBe(true);

    SleepyContext.touched = true;
    window.dispatchEvent(new KeyboardEvent('keydown', { key: 'a' }));
    expect(soundState.getState().asleep).toBe(false);
    expect(SleepyContext.started).toBe(contactLost.tones.length);
    end();
  });

  it('says nothing once there is nothing to be heard', () => {
    SleepyContext.touched = false;
    vi.stubGlobal('AudioContext', SleepyContext);
    const end = sound(contactLost);
    expect(soundState.getState().asleep).toBe(true);
    end();
    expect(soundState.getState().asleep).toBe(false);
  });
});
