import type { JudgedCell } from '../../src/host/rehearsal/truth-join.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { isOfMeasuring, missedFault, overlap, stretchOf } from './faults-in-record.ts';
import type { Weathered } from './run-storm.ts';

/** What is to be said of one storm. */
export interface StormVerdict {
  readonly seed: number;
  readonly faults: readonly string[];
  /** Demands that were not kept, in words; empty for a storm that was weathered. */
  readonly broken: readonly string[];
  readonly cells: number;
  readonly flagged: number;
  /** Cells with a value and no flag beside their truth, and those whose 95 % interval holds it. */
  readonly compared: number;
  readonly covered: number;
  /** Cells that no fault came near, and those of them that are flagged all the same. */
  readonly untouched: number;
  readonly untouchedFlagged: number;
  /** Their flags. */
  readonly untouchedFlags: readonly string[];
  readonly commitFailures: number;
  readonly ended: 'sealed' | 'given up';
}

/** Beyond so many standard uncertainties, and beyond 8 % and three detection limits, a number is wrong. */
const mostDeviations = 5;

/** A fault reaches the air that a cell looks at, its zeros and its references, from this far, s. */
const reachSeconds = 25;

/** @param leftTimers handles and timers that stand after the storm and did not before. */
export function judgeStorm(weathered: Weathered, leftTimers: number): StormVerdict {
  const { storm, record, result, disk } = weathered;
  const cells = result?.cells ?? [];
  const broken: string[] = [];
  if (!weathered.intact) broken.push(`the record is not intact: ${weathered.findings.join('; ')}`);
  const last = record.events.at(-1);
  const kept = result === null ? weathered.lastLink : result.counts.links - 1;
  if (kept < disk.lastLink) broken.push(`link ${disk.lastLink} was acknowledged, ${kept} is the last in the file`);
  if (result !== null) {
    for (const [instrument, bytes] of Object.entries(result.bytes)) {
      if (bytes.received === bytes.accounted) continue;
      broken.push(`${instrument}: ${bytes.received} bytes came, ${bytes.accounted} are accounted for`);
    }
    const closed = record.events.some((event) => event.kind === 'phase-changed' && event.to === 'closed');
    if (!closed) broken.push(`the trial ends with ${last?.kind ?? 'nothing'} and was never closed`);
  }
  for (const fault of storm.scenario.faults) {
    const missed = missedFault(record, fault, storm.scenario.faults);
    if (missed !== null) broken.push(missed);
  }
  if (disk.failures === 0 && storm.disk.some(({ fromLink }) => fromLink < disk.lastLink - 2)) {
    broken.push('the disk was to refuse and did not');
  }
  broken.push(...twoPortsAtOnce(record));
  for (const cell of cells) {
    const wrong = wrongNumber(cell);
    if (wrong !== null) broken.push(wrong);
  }
  if (leftTimers > 0) broken.push(`${leftTimers} timers or handles are left`);
  const compared = cells.filter(
    ({ flagged, truthPercent, windowLowPercent }) => !flagged && windowLowPercent !== null && truthPercent !== null,
  );
  const untouched = cells.filter((cell) => isUntouched(weathered, cell));
  return {
    seed: storm.seed,
    faults: storm.scenario.faults.map((timed) => `${timed.atSeconds} s ${JSON.stringify(timed.fault)}`),
    broken,
    cells: cells.length,
    flagged: cells.filter(({ flagged }) => flagged).length,
    compared: compared.length,
    covered: compared.filter(isCovered).length,
    untouched: untouched.length,
    untouchedFlagged: untouched.filter(({ flagged }) => flagged).length,
    untouchedFlags: untouched
      .filter(({ flagged }) => flagged)
      .map(({ exercise, flags, probe }) => `${exercise} ${probe}: ${flags.join(', ')}`),
    commitFailures: disk.failures,
    ended: result === null ? 'given up' : 'sealed',
  };
}

function isCovered({ truthPercent, windowHighPercent, windowLowPercent }: JudgedCell): boolean {
  const truth = truthPercent ?? Number.NaN;
  return truth >= (windowLowPercent ?? Number.NaN) && truth <= (windowHighPercent ?? Number.NaN);
}

/** A value without a flag that the truth contradicts, in words; null where there is none. */
export function wrongNumber(cell: JudgedCell): string | null {
  const { truthPercent, windowPercent, windowStandardPercent } = cell;
  if (cell.flagged) return null;
  const name = `${cell.exercise} ${cell.probe}`;
  if (windowPercent === null) return `${name} has neither a value nor a flag`;
  if (truthPercent === null || cell.withinTolerance !== false) return null;
  const deviations = Math.abs(windowPercent - truthPercent) / (windowStandardPercent ?? Number.NaN);
  if (deviations <= mostDeviations) return null;
  const flags = cell.flags.join(', ');
  return `${name} says ${windowPercent} and is ${truthPercent}, ${deviations.toFixed(1)} u away, flags: ${flags}`;
}

/** No dwell begins, and no port of another is asked for, before the dwell before it has ended. */
function twoPortsAtOnce(record: TrialRecord): string[] {
  let open: number | null = null;
  const broken: string[] = [];
  for (const event of record.events) {
    if (event.kind === 'dwell-began') {
      if (open !== null) broken.push(`dwell ${event.dwell.dwell} begins while ${open} is open`);
      open = event.dwell.dwell;
    }
    if (event.kind === 'port-requested' && event.dwell >= 0 && event.dwell !== open) {
      broken.push(`port ${event.port} is asked for dwell ${event.dwell} while ${open ?? 'none'} is open`);
    }
    if (event.kind === 'dwell-ended') open = null;
  }
  return broken;
}

/** Nothing went wrong from before the exercise's rest to after it, nor with photometer, valve or lines before that. */
function isUntouched({ storm, record }: Weathered, cell: JudgedCell): boolean {
  const began = record.events.find((event) => event.kind === 'exercise-began' && event.exercise === cell.exercise);
  const ended = record.events.find((event) => event.kind === 'exercise-ended' && event.exercise === cell.exercise);
  if (began === undefined || ended === undefined || !('complete' in ended) || !ended.complete) return false;
  const reach = {
    from: began.atMicroseconds - toMicroseconds(reachSeconds),
    to: ended.atMicroseconds + toMicroseconds(reachSeconds),
  };
  const wasHeld = record.events.some(
    (event) =>
      event.kind === 'phase-changed' &&
      (event.to === 'held' || event.to === 'stopped') &&
      overlap(reach, { from: event.atMicroseconds - 1, to: event.atMicroseconds + 1 }),
  );
  // Background, noise and drift of every cell come from the whole trial before it.
  const fromBegin = { from: 0, to: reach.to };
  return (
    !wasHeld &&
    !storm.scenario.faults.some((fault) => overlap(isOfMeasuring(fault) ? fromBegin : reach, stretchOf(fault)))
  );
}
