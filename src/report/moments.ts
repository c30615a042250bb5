const months = [
  ...['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October'],
  ...['November', 'December'],
];

/** Times in the record are in UTC, and a report says them so, wherever it is made. */
const utc = /^(\d{4})-(\d{2})-(\d{2})T(\d{2}:\d{2}:\d{2})(?:\.\d+)?Z$/;

/** `26 November 2026`; the text itself when it is no time in UTC. */
export function dayInWords(iso: string): string {
  const [, year, month, day] = utc.exec(iso) ?? [];
  const name = months[Number(month) - 1];
  return name === undefined ? iso : `${Number(day)} ${name} ${year ?? ''}`;
}

/** `26 November 2026, 04:15:47 UTC`; the text itself when it is no time in UTC. */
export function momentInWords(iso: string): string {
  const clock = utc.exec(iso)?.[4];
  return clock === undefined ? iso : `${dayInWords(iso)}, ${clock} UTC`;
}

/** Trial time, µs, as `m:ss`: the second that has begun. */
export function trialTime(microseconds: number): string {
  const whole = Math.max(0, Math.floor(microseconds / 1_000_000));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
