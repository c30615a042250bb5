/** Cancels a timer; harmless when it has fired already. */
export type Cancel = () => void;

/** Delays under a clock that somebody else owns. Drivers and simulators have no clock of their own. */
export interface Timers {
  /** Calls back once, `delayMicroseconds` (≥ 0) from now. */
  after(delayMicroseconds: number, callback: () => void): Cancel;
}

/** Timers that also tell the time: what the host's own parts get, drivers do not. */
export interface Clock extends Timers {
  /** Trial time (or machine time: the owner says which), µs. Never runs backwards. */
  now(): number;
  /**
   * Calls back once at an absolute time; at once (but not synchronously) when that has passed.
   * @param prompt worth some processor time to be on time: where the machine decides how late a timer is, the clock
   *   is awake before. For what the subject hears and what switches the air, not for what merely has to happen.
   */
  at(atMicroseconds: number, callback: () => void, prompt?: boolean): Cancel;
}
