const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'] as const;

/** A length of time as `m:ss`, whole seconds, never negative. */
export function minutesAndSeconds(seconds: number): string {
  const whole = Math.max(0, Math.round(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

/** Trial time, µs, as `m:ss`: the second that has begun. */
export function trialTime(microseconds: number): string {
  return minutesAndSeconds(Math.floor(microseconds / 1_000_000));
}

/** Wall clock of this machine, `14:24`. Empty when the text is no time. */
export function clockOfDay(iso: string): string {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return '';
  return `${String(date.getHours()).padStart(2, '0')}:${String(date.getMinutes()).padStart(2, '0')}`;
}

/** `today`, `yesterday`, `6 Nov`, or `6 Nov 2025` in another year, in the time of this machine. */
export function dayOf(iso: string, now: Date = new Date()): string {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return '';
  const midnight = (of: Date): number => new Date(of.getFullYear(), of.getMonth(), of.getDate()).getTime();
  const days = Math.round((midnight(now) - midnight(date)) / 86_400_000);
  if (days === 0) return 'today';
  if (days === 1) return 'yesterday';
  const day = `${date.getDate()} ${months[date.getMonth()] ?? ''}`;
  return date.getFullYear() === now.getFullYear() ? day : `${day} ${date.getFullYear()}`;
}
