import { createStore } from 'zustand/vanilla';

/** Tones with their beginnings, s, and how soon all of them come again. */
export interface Melody {
  readonly tones: readonly { readonly pitchHertz: number; readonly start: number }[];
  readonly toneSeconds: number;
  /** Null: once. */
  readonly againSeconds: number | null;
}

/** The window has lost its host: falling and rising, unlike any alarm of a trial. */
export const contactLost: Melody = {
  tones: [
    { pitchHertz: 620, start: 0 },
    { pitchHertz: 465, start: 0.22 },
    { pitchHertz: 620, start: 0.44 },
  ],
  toneSeconds: 0.18,
  againSeconds: 10,
};

/** Whether something is to be heard, and this window is silent until somebody presses a key or clicks in it. */
export const soundState = createStore<{ readonly asleep: boolean }>(() => ({ asleep: false }));

const loudness = 0.25;
/** What a browser takes for a person. */
const gestures = ['keydown', 'pointerdown'] as const;
/** A tone that begins or ends at once clicks, s. */
const edgeSeconds = 0.012;

/**
 * Plays a melody now and again until it is ended. Sawtooth, for its many harmonics. A browser in which nobody has
 * pressed anything yet stays silent, and `soundState` says so: what is heard is always seen as well.
 * @returns a function that ends it.
 */
export function sound(melody: Melody): () => void {
  if (typeof AudioContext === 'undefined') return () => undefined;
  const context = new AudioContext();
  // A context made before the first key press sleeps. What was to be heard is heard when it wakes.
  const wake = (): void => void context.resume();
  const tell = (): void => soundState.setState({ asleep: context.state === 'suspended' });
  const play = (): void => {
    wake();
    for (const { pitchHertz, start } of melody.tones) {
      const oscillator = context.createOscillator();
      const gain = context.createGain();
      const from = context.currentTime + start;
      const to = from + melody.toneSeconds;
      oscillator.type = 'sawtooth';
      oscillator.frequency.value = pitchHertz;
      gain.gain.setValueAtTime(0, from);
      gain.gain.linearRampToValueAtTime(loudness, from + edgeSeconds);
      gain.gain.setValueAtTime(loudness, to - edgeSeconds);
      gain.gain.linearRampToValueAtTime(0, to);
      oscillator.connect(gain).connect(context.destination);
      oscillator.start(from);
      oscillator.stop(to);
    }
  };
  play();
  context.addEventListener('statechange', tell);
  tell();
  for (const gesture of gestures) window.addEventListener(gesture, wake);
  const again = melody.againSeconds === null ? undefined : setInterval(play, melody.againSeconds * 1000);
  return () => {
    clearInterval(again);
    context.removeEventListener('statechange', tell);
    for (const gesture of gestures) window.removeEventListener(gesture, wake);
    soundState.setState({ asleep: false });
    void context.close();
  };
}
