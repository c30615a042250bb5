/** What an instrument said by which it is recognised. */
export interface Recognition {
  /** Who it says that it is, such as maker, model and serial number in one text; null where its dialect tells none. */
  readonly told: string | null;
  /** What was seen of it, for people. */
  readonly seen: string;
}

/**
 * How an instrument of a dialect is recognised at a port that a person has let the program ask. It asks and never sets:
 * whatever is connected there, no output of an instrument of this dialect moves by it.
 */
export interface Identification {
  /** Written once; null: nothing, the instrument speaks by itself and is listened to. */
  readonly question: Uint8Array | null;
  /** How long it may take, s. */
  readonly limitSeconds: number;
  /**
   * Judges everything that has come since the question; the first bytes may be the rest of a line.
   * @returns null: not recognised by these bytes, more may come. Never throws.
   */
  recognise(received: Uint8Array): Recognition | null;
}
