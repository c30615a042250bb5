import type { WindowOpener } from './window-opener.ts';

/** What the host says to the desktop rim, a line of JSON each. `electron/README.md` has the other side. */
export type RimMessage = { readonly show: string } | { readonly trial: boolean } | { readonly end: true };

/** The desktop rim as the host has it, whoever started whom. */
export interface RimLink {
  send(message: RimMessage): void;
  /** Words of the rim: `shown`, `failed`, `stop`, `end`. */
  onWord(listener: (word: string) => void): void;
  /** The rim is gone; told once. */
  onGone(listener: () => void): void;
  /** It shows nothing and is of no use. */
  giveUp(): void;
  /** The host ends, and the rim with it. */
  end(): void;
}

/** How long the first page may take to stand, ms: the runtime's own start is part of it. */
const shownMilliseconds = 20_000;

/**
 * The window of the desktop program. Whatever goes wrong, at the start or in the runtime, counts as no window.
 * @param connect starts the rim or takes the one that started this host; null: it cannot be tried.
 */
export function rimWindowOpener(connect: () => RimLink | null): WindowOpener {
  let link: RimLink | null = null;
  let underWay = false;
  let onStop: () => void = () => undefined;
  let onLost: () => void = () => undefined;
  let waiting: ((shown: boolean) => void) | null = null;

  const connected = (): RimLink | null => {
    const made = connect();
    made?.onGone(() => {
      if (link === made) link = null;
      waiting?.(false);
    });
    made?.onWord((word) => {
      if (word === 'stop') onStop();
      if (word === 'shown') waiting?.(true);
      if (word === 'failed' && waiting === null) onLost();
      else if (word === 'failed') waiting?.(false);
    });
    made?.send({ trial: underWay });
    return made;
  };

  return {
    name: 'the desktop window',
    open(address) {
      link ??= connected();
      const rim = link;
      if (rim === null) return Promise.resolve(false);
      return new Promise((resolve) => {
        const settle = (shown: boolean): void => {
          clearTimeout(patience);
          waiting = null;
          if (!shown) rim.giveUp();
          resolve(shown);
        };
        const patience = setTimeout(() => settle(false), shownMilliseconds);
        waiting = settle;
        rim.send({ show: address });
      });
    },
    whyNot: () => 'the desktop window did not come up',
    trialUnderWay(now) {
      underWay = now;
      link?.send({ trial: now });
    },
    onStop(listener) {
      onStop = listener;
    },
    onLost(listener) {
      onLost = listener;
    },
    close: () => link?.end(),
  };
}
