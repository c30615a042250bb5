/** Tones of a warning, Hz and s from its beginning. Low and rich in harmonics, so that ear muffs let them through. */
const tones = [
  [620, 0],
  [465, 0.22],
  [620, 0.44],
] as const;
const toneSeconds = 0.18;
const againMilliseconds = 10_000;

/**
 * Three tones now and every ten seconds until it is ended. A browser that was never touched stays silent: what is
 * heard is always seen as well.
 * @returns a function that ends it.
 */
export function warn(): () => void {
  if (typeof AudioContext === 'undefined') return () => undefined;
  const context = new AudioContext();
  const play = (): void => {
    for (const [pitch, after] of tones) {
      const oscillator = context.createOscillator();
      const gain = context.createGain();
      oscillator.type = 'sawtooth';
      oscillator.frequency.value = pitch;
      gain.gain.value = 0.25;
      oscillator.connect(gain).connect(context.destination);
      oscillator.start(context.currentTime + after);
      oscillator.stop(context.currentTime + after + toneSeconds);
    }
  };
  play();
  const again = setInterval(play, againMilliseconds);
  return () => {
    clearInterval(again);
    void context.close();
  };
}
