/** What a door allows; tests make it tighter, nobody makes it wider. */
export interface DoorLimits {
  /** Windows at once: each is one channel of calls. */
  readonly mostWindows: number;
  /** Channels that have not said who they are yet. */
  readonly mostStrangers: number;
  /** How long a channel may take to say so, ms. */
  readonly helloMilliseconds: number;
  readonly mostRpcBytes: number;
  readonly mostSampleBytes: number;
  /** How often a window is asked for a sign of life, ms, and how long it may owe one. */
  readonly askMilliseconds: number;
  readonly silentMilliseconds: number;
}

export const doorLimits: DoorLimits = {
  mostWindows: 8,
  mostStrangers: 16,
  helloMilliseconds: 5_000,
  mostRpcBytes: 256 * 1024,
  mostSampleBytes: 8 * 1024,
  askMilliseconds: 2_500,
  silentMilliseconds: 10_000,
};

/** Codes with which a door closes a channel; the reason says it in words. */
export const closeCodes = {
  goingAway: 1001,
  badMessage: 4400,
  wrongSecret: 4401,
  helloLate: 4408,
  tooMany: 4429,
} as const;

/** A window's number: unlike for every window since the host began, whichever door it came through. */
let windowsSoFar = 0;

export function nextWindowNumber(): number {
  windowsSoFar += 1;
  return windowsSoFar;
}
