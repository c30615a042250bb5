import type { Desktop } from './desktop.ts';
import { words } from './words.ts';

/** Stops the trial from any program: beside the key of the console, which only a window with the focus hears. */
export const stopKey = 'CommandOrControl+Alt+End';

/** Whether the stop key works: `off` while no trial is under way, `refused` when another program has the key. */
export type StopKeyState = 'off' | 'on' | 'refused';

/** What the machine must do, and must not, while a trial is under way. */
export interface TrialGuard {
  trial(underWay: boolean): void;
  readonly trialUnderWay: boolean;
  readonly stopKey: StopKeyState;
  /**
   * Whether the window may go. If not, the person is asked, and `again` is called if they want it all the same. The
   * box belongs to no window, so the console behind it keeps its keys.
   */
  mayEnd(again: () => void): boolean;
  /** The host ends, so there is nothing to ask any more; everything taken from the machine is given back. */
  release(): void;
}

/** @param question what closing means, for the person who is asked. */
export function createTrialGuard(
  desktop: Pick<Desktop, 'dialog' | 'globalShortcut' | 'powerSaveBlocker'>,
  question: string,
  onStop: () => void,
  onStopKey: (state: StopKeyState) => void,
): TrialGuard {
  const { dialog, globalShortcut, powerSaveBlocker } = desktop;
  let underWay = false;
  let asking = false;
  let agreed = false;
  let blocker: number | null = null;
  let key: StopKeyState = 'off';

  const set = (state: StopKeyState): void => {
    if (key === state) return;
    key = state;
    onStopKey(state);
  };
  const take = (): void => {
    set(registers(globalShortcut, onStop) ? 'on' : 'refused');
    // A screen that goes dark is a nuisance; it must not cost the stop key.
    try {
      blocker ??= powerSaveBlocker.start('prevent-display-sleep');
    } catch {
      blocker = null;
    }
  };
  const giveBack = (): void => {
    if (blocker !== null) powerSaveBlocker.stop(blocker);
    blocker = null;
    if (key === 'on') globalShortcut.unregister(stopKey);
    set('off');
  };

  return {
    trial(now) {
      if (now === underWay) return;
      underWay = now;
      agreed = false;
      if (now) take();
      else giveBack();
    },
    get trialUnderWay() {
      return underWay;
    },
    get stopKey() {
      return key;
    },
    mayEnd(again) {
      if (!underWay || agreed) return true;
      if (asking) return false;
      asking = true;
      const box = {
        type: 'warning' as const,
        title: words.closeTitle,
        message: words.closeTitle,
        detail: question,
        buttons: [words.keep, words.close],
        defaultId: 0,
        cancelId: 0,
        noLink: true,
      };
      dialog
        .showMessageBox(box)
        .then(({ response }) => {
          asking = false;
          if (response !== 1) return;
          agreed = true;
          again();
        })
        .catch(() => {
          asking = false;
        });
      return false;
    },
    release() {
      underWay = false;
      giveBack();
    },
  };
}

function registers(globalShortcut: Desktop['globalShortcut'], onStop: () => void): boolean {
  try {
    return globalShortcut.register(stopKey, onStop);
  } catch {
    return false;
  }
}
