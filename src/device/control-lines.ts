/** The lines of a serial port on which no bytes travel, as the program reads them; null: this port does not tell. */
export interface ControlLineState {
  readonly cts: boolean | null;
  readonly dsr: boolean | null;
  readonly dcd: boolean | null;
  readonly ri: boolean | null;
}
export type ControlLine = keyof ControlLineState;

/** Those that the program sets. */
export interface ControlOutputs {
  readonly dtr: boolean;
  readonly rts: boolean;
}

/** What a transport with such lines can do besides bytes. */
export interface ControlLines {
  /**
   * The lines as they are now, with the stamp of the look, on the clock of the transport's bytes, µs.
   * @throws ChambersideError `port-failed` where the port does not tell them, `transport-closed`.
   */
  read(): Promise<{ readonly state: ControlLineState; readonly atMicroseconds: number }>;
  /** Sets both. Errors as `read`. */
  set(outputs: ControlOutputs): Promise<void>;
}

const names = ['cts', 'dsr', 'dcd', 'ri'] as const satisfies readonly ControlLine[];
const signs: ReadonlyMap<string, boolean | null> = new Map([['+', true], ['-', false], ['?', null]]);

const sign = (on: boolean | null): string => (on === null ? '?' : on ? '+' : '-');

/**
 * A look as a line of text, so that it can be recorded where bytes are, and read again: `CTS+ DSR- DCD- RI?`, on, off
 * and not told.
 */
export function controlLineText(state: ControlLineState): string {
  return names.map((name) => `${name.toUpperCase()}${sign(state[name])}`).join(' ');
}

/** The same for what is set: `DTR+ RTS-`. */
export function controlOutputText({ dtr, rts }: ControlOutputs): string {
  return `DTR${sign(dtr)} RTS${sign(rts)}`;
}

/** The state that a line of `controlLineText` says; undefined for any other text. Blanks at both ends do not count. */
export function parseControlLines(text: string): ControlLineState | undefined {
  const words = text.trim().split(' ');
  if (words.length !== names.length) return undefined;
  const state: Record<ControlLine, boolean | null> = { cts: null, dsr: null, dcd: null, ri: null };
  for (const [index, name] of names.entries()) {
    const word = words[index] ?? '';
    const on = signs.get(word.slice(-1));
    if (on === undefined || word.slice(0, -1) !== name.toUpperCase()) return undefined;
    state[name] = on;
  }
  return state;
}

/** Ends the line of a look in the record. */
export const controlLineEnd = '\n';
