/** One way to put a window on the screen of this machine. */
export interface WindowOpener {
  /** For a person: `a window of chromium`. */
  readonly name: string;
  /** Opens a window, or hands the address to one that is open. @returns whether one came, as far as it can be told. */
  open(address: string): Promise<boolean>;
  /** For windows that keep the machine awake and a stop key alive while a trial is under way. */
  trialUnderWay?(underWay: boolean): void;
  /** The stop key was pressed while another program had the keyboard. */
  onStop?(listener: () => void): void;
  /** The host ends. */
  close(): void;
}

/**
 * Tries each in turn.
 * @returns the name of the one that opened a window; null when none did, and a person has to be told the address.
 */
export async function openWindow(openers: readonly WindowOpener[], newAddress: () => string): Promise<string | null> {
  for (const opener of openers) {
    // An address of its own for each: one that failed may have used it up.
    if (await opener.open(newAddress())) return opener.name;
  }
  return null;
}
