import type { AskingWindow, ServedHost } from '../door/served-host.ts';
import { isTrialUnderWay } from './desktop-windows.ts';

/** Notices when a host has no window left. */
export interface WindowWatch {
  /** The host, as doors are to see it. */
  readonly host: ServedHost;
  stop(): void;
}

/** A window that is loaded again is away for a moment, ms. */
export const awayMilliseconds = 2_000;

/**
 * Stands between doors and host and counts windows.
 * @param onAlone told once each time the last window has been away for a while: whether a trial is under way then.
 *   The trial is held by the host itself; this is for whoever can offer a new window.
 */
export function watchWindows(
  host: ServedHost,
  onAlone: (trialUnderWay: boolean) => void,
  away = awayMilliseconds,
): WindowWatch {
  const windows = new Set<number>();
  let timer: NodeJS.Timeout | undefined;
  const alone = (): void => onAlone(isTrialUnderWay(host.snapshot()));
  return {
    host: {
      procedures: host.procedures,
      clock: () => host.clock(),
      snapshot: () => host.snapshot(),
      onSnapshot: (listener) => host.onSnapshot(listener),
      openSamples: (send, waitingBytes) => host.openSamples(send, waitingBytes),
      windowOpened(window: AskingWindow) {
        windows.add(window.window);
        clearTimeout(timer);
        host.windowOpened(window);
      },
      windowClosed(window: AskingWindow) {
        windows.delete(window.window);
        host.windowClosed(window);
        clearTimeout(timer);
        if (windows.size === 0) timer = setTimeout(alone, away);
      },
    },
    stop: () => clearTimeout(timer),
  };
}
