/**
 * Days since 1970-01-01 of a day of the Gregorian calendar. Counted from the first of March, so that a leap day ends
 * its year: 146 097 days are 400 years.
 * @param day ISO 8601, `2026-03-31`, which must exist.
 */
export function dayNumber(day: string): number {
  const [year = 0, month = 1, date = 1] = day.split('-').map(Number);
  const ofMarch = month > 2 ? year : year - 1;
  const monthFromMarch = (month + 9) % 12;
  const leapDays = Math.floor(ofMarch / 4) - Math.floor(ofMarch / 100) + Math.floor(ofMarch / 400);
  return 365 * ofMarch + leapDays + Math.floor((153 * monthFromMarch + 2) / 5) + date - 719_469;
}
