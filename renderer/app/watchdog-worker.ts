/**
 * Watches for silence of the host on a thread of its own, because the timers of a hidden window are slowed down and
 * those of a worker are not. Signs of life come in; `lost` and `back` go out.
 */
import { createWatchdog, type SignOfLife } from './watchdog.ts';

const lookMilliseconds = 100;
const watchdog = createWatchdog(performance.now());

const look = (): void => {
  const changed = watchdog.look(performance.now());
  if (changed !== null) (globalThis as unknown as { postMessage(message: string): void }).postMessage(changed);
};

addEventListener('message', ({ data }: MessageEvent<SignOfLife>) => {
  watchdog.heard(data, performance.now());
  look();
});

setInterval(look, lookMilliseconds);
