import type { Cancel, Clock, Timers } from '../../src/device/timers.ts';

const tellsTime = (timers: Timers): timers is Clock =>
  'now' in timers && typeof timers.now === 'function' && 'at' in timers && typeof timers.at === 'function';

/**
 * Calls back after every `intervalMicroseconds` (> 0) on a grid that begins now. With timers that tell the time the
 * grid is absolute: a late call is not passed on to the next one. Plain timers can only count from call to call.
 */
export function everyInterval(timers: Timers, intervalMicroseconds: number, callback: () => void): Cancel {
  if (!(intervalMicroseconds > 0)) throw new RangeError(`an interval must be positive, not ${intervalMicroseconds}`);
  let cancel: Cancel;
  let stopped = false;
  let due = tellsTime(timers) ? timers.now() : 0;
  const arm = (): void => {
    due += intervalMicroseconds;
    cancel = tellsTime(timers) ? timers.at(due, fire) : timers.after(intervalMicroseconds, fire);
  };
  const fire = (): void => {
    arm();
    if (!stopped) callback();
  };
  arm();
  return () => {
    stopped = true;
    cancel();
  };
}
