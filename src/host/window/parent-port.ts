import { rimWindowOpener, type RimLink } from './rim-link.ts';
import type { WindowOpener } from './window-opener.ts';

/** The port to the desktop program that started this process, as its utility processes have it. */
export interface ParentPort {
  on(event: 'message', listener: (message: { readonly data: unknown }) => void): unknown;
  postMessage(message: unknown): void;
}

/** The port of this process, or null when no desktop program started it. */
export function parentPort(): ParentPort | null {
  return (process as { parentPort?: ParentPort }).parentPort ?? null;
}

/**
 * The window of the desktop program that started this host.
 * @param onEnd the program asks the host to end.
 */
export function parentWindowOpener(port: ParentPort, onEnd: () => void): WindowOpener {
  port.on('message', ({ data }) => {
    if (data === 'end') onEnd();
  });
  // One link for ever: when the desktop program goes, this process goes with it.
  const link: RimLink = {
    send: (message) => port.postMessage(JSON.stringify(message)),
    onWord(listener) {
      port.on('message', ({ data }) => {
        if (typeof data === 'string') listener(data);
      });
    },
    onGone: () => undefined,
    giveUp: () => undefined,
    end: () => port.postMessage(JSON.stringify({ end: true })),
  };
  return rimWindowOpener(() => link);
}
