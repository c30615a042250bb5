/** One way to put a window on the screen of this machine. */
export interface WindowOpener {
  /** For a person: `a window of chromium`. */
  readonly name: string;
  /** Opens a window, or hands the address to one that is open. @returns whether one came, as far as it can be told. */
  open(address: string): Promise<boolean>;
  /** After an `open` that brought none: why, as far as it is known, for the person who has to open one. */
  whyNot?(): string;
  /** For windows that keep the machine awake and a stop key alive while a trial is under way. */
  trialUnderWay?(underWay: boolean): void;
  /** The stop key was pressed while another program had the keyboard. */
  onStop?(listener: () => void): void;
  /** A window that had come is gone by a failure and not by a person: another way is wanted. */
  onLost?(listener: () => void): void;
  /** The host ends. */
  close(): void;
}

/**
 * Tries each in turn.
 * @returns the name of the one that opened a window; when none did and a person has to be told the address: why not.
 */
export async function openWindow(
  openers: readonly WindowOpener[],
  newAddress: () => string,
): Promise<{ readonly shown: string } | { readonly shown: null; readonly reasons: readonly string[] }> {
  const reasons: string[] = [];
  for (const opener of openers) {
    // An address of its own for each: one that failed may have used it up.
    let thrown: string | undefined;
    const shown = await opener.open(newAddress()).catch((error: unknown) => {
      // A way that breaks is a way that does not lead there: the recorder goes on, and so do the other ways.
      thrown = `${opener.name}: ${error instanceof Error ? error.message : String(error)}`;
      return false;
    });
    if (shown) return { shown: opener.name };
    const reason = thrown ?? opener.whyNot?.();
    if (reason !== undefined && !reasons.includes(reason)) reasons.push(reason);
  }
  return { shown: null, reasons };
}
