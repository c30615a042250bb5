/**
 * Watches for silence of the host on a thread of its own, because the timers of a hidden window are slowed down and
 * those of a worker are not. Every message in is a sign of life; `lost` and `back` go out.
 */
import { hostLostMilliseconds } from '../../src/bridge/samples.ts';

const lookMilliseconds = 200;
let heardAt = performance.now();
let lost = false;

const say = (state: 'lost' | 'back'): void => {
  (globalThis as unknown as { postMessage(message: string): void }).postMessage(state);
};

addEventListener('message', () => {
  heardAt = performance.now();
  if (lost) say('back');
  lost = false;
});

setInterval(() => {
  if (lost || performance.now() - heardAt < hostLostMilliseconds) return;
  lost = true;
  say('lost');
}, lookMilliseconds);
