/**
 * The part of the platform's AbortSignal that waiting code needs. Pure folders do not see the platform's types;
 * an AbortSignal satisfies this structurally.
 */
export interface Cancellation {
  readonly aborted: boolean;
  addEventListener(type: 'abort', listener: () => void): void;
  removeEventListener(type: 'abort', listener: () => void): void;
}
