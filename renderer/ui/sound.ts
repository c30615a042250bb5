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

const loudness = 0.25;
/** A tone that begins or ends at once clicks, s. */
const edgeSeconds = 0.012;

/**
 * Plays a melody now and again until it is ended. Sawtooth, for its many harmonics. A browser in which nobody has
 * pressed anything yet stays silent: what is heard is always seen as well.
 * @returns a function that ends it.
 */
export function sound(melody: Melody): () => void {
  if (typeof AudioContext === 'undefined') return () => undefined;
  const context = new AudioContext();
  const play = (): void => {
    // A context made before the first key press sleeps; every later repetition tries to wake it.
    void context.resume();
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
  const again = melody.againSeconds === null ? undefined : setInterval(play, melody.againSeconds * 1000);
  return () => {
    clearInterval(again);
    void context.close();
  };
}
