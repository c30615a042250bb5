/** The host as the rim has it, whoever started whom. */
export interface HostLink {
  /** Lines of the host, each JSON. */
  onLine(listener: (line: string) => void): void;
  /** One word to the host. */
  say(word: 'shown' | 'failed' | 'stop' | 'end'): void;
}

/** What a line of the host can mean. */
export interface HostMessage {
  /** Show this address, in place of what the window shows. */
  readonly show?: unknown;
  /** Whether a trial is under way. */
  readonly trial?: unknown;
  /** The host ends. */
  readonly end?: unknown;
}

/** A line that makes no sense is null. */
export function hostMessage(line: string): HostMessage | null {
  try {
    const value: unknown = JSON.parse(line);
    return typeof value === 'object' && value !== null ? value : null;
  } catch {
    return null;
  }
}
