import type { HostTime } from '../app/host-time.ts';
import { soundState } from '../ui/sound.ts';
import { cuesBetween, type Cue, type SubjectView } from './subject-view.ts';

/** How far ahead cues are handed to the sound card, and how often, ms: a busy page is late for neither. */
const aheadMilliseconds = 220;
const lookMilliseconds = 60;

/** Wooden: short, one pitch each, none like an alarm. Hz and s. */
const sounds: Readonly<Record<Cue['sound'], { readonly pitchHertz: number; readonly seconds: number }>> = {
  'first-beat': { pitchHertz: 880, seconds: 0.05 },
  'second-beat': { pitchHertz: 660, seconds: 0.05 },
  tick: { pitchHertz: 990, seconds: 0.07 },
  end: { pitchHertz: 330, seconds: 0.45 },
};

/** What a browser takes for a person. */
const gestures = ['keydown', 'pointerdown'] as const;

/**
 * Plays the cadence and the countdown by the host's clock until it is ended. Until somebody touches the window a
 * browser keeps it silent: `soundState` says so, and everything heard is seen as well.
 * @returns a function that ends it.
 */
export function playCues(view: () => SubjectView, time: HostTime): () => void {
  if (typeof AudioContext === 'undefined') return () => undefined;
  const context = new AudioContext();
  const wake = (): void => void context.resume();
  const tell = (): void => soundState.setState({ asleep: context.state === 'suspended' });
  let handedTo: number | null = null;
  const look = (): void => {
    const now = time.at(performance.now());
    if (now === null || context.state !== 'running') {
      handedTo = null;
      return;
    }
    const until = now + aheadMilliseconds * 1000;
    // Another trial, or a clock that was put back: what was handed over counts no more.
    const from = handedTo === null || handedTo > until || handedTo < now - 1e6 ? now : handedTo;
    for (const cue of cuesBetween(view(), from, until)) {
      play(context, cue.sound, context.currentTime + Math.max(0, cue.atMicroseconds - now) / 1e6);
    }
    handedTo = until;
  };
  const timer = setInterval(look, lookMilliseconds);
  context.addEventListener('statechange', tell);
  for (const gesture of gestures) window.addEventListener(gesture, wake);
  wake();
  tell();
  return () => {
    clearInterval(timer);
    context.removeEventListener('statechange', tell);
    for (const gesture of gestures) window.removeEventListener(gesture, wake);
    soundState.setState({ asleep: false });
    void context.close();
  };
}

function play(context: AudioContext, which: Cue['sound'], at: number): void {
  const { pitchHertz, seconds } = sounds[which];
  const oscillator = context.createOscillator();
  const gain = context.createGain();
  oscillator.type = 'triangle';
  oscillator.frequency.value = pitchHertz;
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(0.5, at + 0.004);
  gain.gain.exponentialRampToValueAtTime(0.001, at + seconds);
  oscillator.connect(gain).connect(context.destination);
  oscillator.start(at);
  oscillator.stop(at + seconds + 0.02);
}

/**
 * Says words with a voice of this machine; with none, nothing is said: a voice from elsewhere would hear what is said.
 * What was being said before gives way.
 */
export function say(words: string): void {
  if (!('speechSynthesis' in window)) return;
  const language = document.documentElement.lang;
  const voice = window.speechSynthesis
    .getVoices()
    .find((one) => one.localService && one.lang.slice(0, 2) === language.slice(0, 2));
  if (voice === undefined) return;
  const utterance = new SpeechSynthesisUtterance(words);
  utterance.voice = voice;
  utterance.lang = voice.lang;
  utterance.rate = 0.95;
  window.speechSynthesis.cancel();
  window.speechSynthesis.speak(utterance);
}
