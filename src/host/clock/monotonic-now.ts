/**
 * The machine's monotonic clock, whole µs. On Linux one clock for all processes of a boot, standing still while the
 * machine sleeps; which is how a record of one process is joined to that of another.
 */
export function monotonicNow(): number {
  return Number(process.hrtime.bigint() / 1000n);
}
