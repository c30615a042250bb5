import { chambersideJson, type CommandOutcome } from './command-line.ts';

/** What `rehearse --json` prints of a cell. */
export interface PrintedCell {
  readonly exercise: string;
  readonly probe: string;
  readonly dwellPosition: number | null;
  readonly windowPercent: number | null;
  readonly windowStandardPercent: number | null;
  readonly windowLowPercent: number | null;
  readonly windowHighPercent: number | null;
  readonly windowExpandedPercent: number | null;
  readonly degreesOfFreedom: number | null;
  readonly exercisePercent: number | null;
  readonly exerciseLowPercent: number | null;
  readonly exerciseHighPercent: number | null;
  readonly detectionLimitPercent: number | null;
  readonly truthPercent: number | null;
  readonly truthExercisePercent: number | null;
  readonly flags: readonly string[];
  readonly flagged: boolean;
}

export interface PrintedRehearsal {
  readonly trialId: string;
  readonly truthFile: string;
  readonly counts: {
    readonly readings: number;
    readonly problems: number;
    readonly events: number;
    readonly dwells: number;
    readonly alarms: number;
    readonly links: number;
  };
  readonly bytes: Readonly<
    Record<string, { readonly received: number; readonly accounted: number; readonly sent: number }>
  >;
  readonly trialSeconds: number;
  readonly timesRealTime: number;
  readonly cells: readonly PrintedCell[];
}

export function rehearse(study: string, ...words: string[]): Promise<PrintedRehearsal> {
  return chambersideJson<PrintedRehearsal>('rehearse', '--study', study, ...words);
}

/** What a rehearsal printed, whatever it thinks of its cells. @throws with what it said when it had no result. */
export function printedRehearsal(outcome: CommandOutcome): PrintedRehearsal {
  const printed = JSON.parse(outcome.stdout) as PrintedRehearsal | { readonly error: unknown };
  if ('error' in printed) throw new Error(`rehearse ended with ${outcome.status}: ${outcome.stderr}`);
  return printed;
}

/** A cell without what the truth adds: what the assessment alone says, for comparison to the last bit. */
export function measured(cells: readonly PrintedCell[]): unknown[] {
  return cells.map((cell) => [
    cell.exercise,
    cell.probe,
    cell.dwellPosition,
    cell.windowPercent,
    cell.detectionLimitPercent,
    cell.flags.join(),
  ]);
}

export interface Agreement {
  readonly cells: number;
  readonly flagged: number;
  /** Unflagged cells outside 8 % of the truth and outside three detection limits. */
  readonly outside: readonly string[];
  /** Signed relative errors of unflagged cells above ten detection limits. */
  readonly relativeErrors: readonly number[];
}

/** Holds cells against the truth, from the printed numbers alone. */
export function agreement(cells: readonly PrintedCell[], where: string): Agreement {
  const outside: string[] = [];
  const relativeErrors: number[] = [];
  let flagged = 0;
  for (const cell of cells) {
    const name = `${where} ${cell.exercise} ${cell.probe}`;
    if (cell.flags.length > 0 && cell.flagged) {
      flagged += 1;
      continue;
    }
    const { windowPercent, truthPercent, detectionLimitPercent } = cell;
    if (windowPercent === null || truthPercent === null || detectionLimitPercent === null) {
      outside.push(`${name}: no value`);
      continue;
    }
    const error = windowPercent - truthPercent;
    if (Math.abs(error) > Math.max(0.08 * truthPercent, 3 * detectionLimitPercent)) {
      outside.push(`${name}: ${windowPercent} against ${truthPercent}`);
    }
    if (truthPercent > 10 * detectionLimitPercent) relativeErrors.push(error / truthPercent);
  }
  return { cells: cells.length, flagged, outside, relativeErrors };
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
