import type { Cancel, Clock } from '../../device/timers.ts';
import type { AskingWindow } from '../door/served-host.ts';

/** A window that is loaded again is away for a moment, µs. */
export const graceMicroseconds = 3_000_000;

/** Counts windows, and notices when the last one stays away. */
export interface WindowKeeper {
  /** Windows in which somebody can operate. */
  readonly count: number;
  /** The subject's displays: nobody operates there, so that they are no company for a trial. */
  readonly subjectDisplays: number;
  opened(window: AskingWindow): void;
  closed(window: AskingWindow): void;
  end(): void;
}

/** @param onAlone no window for the time of grace. @param onCompany there is one again. */
export function keepWindows(
  clock: Clock,
  listener: { readonly onAlone: () => void; readonly onCompany: () => void; readonly onChange: () => void },
): WindowKeeper {
  const windows = new Set<number>();
  const displays = new Set<number>();
  let cancel: Cancel | undefined;
  return {
    get count() {
      return windows.size;
    },
    get subjectDisplays() {
      return displays.size;
    },
    opened({ window, display }) {
      if (display === 'subject') {
        displays.add(window);
        listener.onChange();
        return;
      }
      cancel?.();
      cancel = undefined;
      windows.add(window);
      listener.onCompany();
      listener.onChange();
    },
    closed({ window }) {
      if (displays.delete(window)) listener.onChange();
      if (!windows.delete(window)) return;
      if (windows.size === 0) {
        cancel?.();
        cancel = clock.after(graceMicroseconds, () => {
          cancel = undefined;
          listener.onAlone();
        });
      }
      listener.onChange();
    },
    end() {
      cancel?.();
    },
  };
}
