const months = [
  ...['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October'],
  ...['November', 'December'],
];

/** `26 November 2026`, in UTC wherever the report is made; the text itself when it is no time. */
export function dayInWords(iso: string): string {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return iso;
  return `${date.getUTCDate()} ${months[date.getUTCMonth()] ?? ''} ${date.getUTCFullYear()}`;
}

/** `26 November 2026, 04:15:47 UTC`. */
export function momentInWords(iso: string): string {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return iso;
  const clock = [date.getUTCHours(), date.getUTCMinutes(), date.getUTCSeconds()];
  return `${dayInWords(iso)}, ${clock.map((part) => String(part).padStart(2, '0')).join(':')} UTC`;
}

/** Trial time, µs, as `m:ss`: the second that has begun. */
export function trialTime(microseconds: number): string {
  const whole = Math.max(0, Math.floor(microseconds / 1_000_000));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
