/** One try of a fault: a trial that it happened in, and what became of it. */
export interface Tried {
  /** Where in the trial, or to which instrument; for whoever repeats it. */
  readonly where: string;
  /**
   * Readings that are missing besides what the fault itself took, s: of what had been shown before it, or after it was
   * over. Null where nothing can be missing.
   */
  readonly lostSeconds: number | null;
  /** From the fault until somebody is told, s; null where nothing needs to be told. */
  readonly alarmSeconds: number | null;
  /** Until when it must have been told, s. */
  readonly limitSeconds: number | null;
  /** What was not as it has to be, in words; empty for a fault that was survived. */
  readonly broken: readonly string[];
}

/** A kind of fault, and how it is tried. */
export interface Fault {
  readonly fault: string;
  /** What happens, and what is expected, for the table. */
  readonly says: string;
  /** Tries each place of the fault so many times. @throws Error when it cannot be tried here, and why. */
  run(times: number): Promise<readonly Tried[]>;
}

/** One try after the other, each with a number or seed of its own. */
export async function repeated(times: number, each: (seed: number) => Promise<Tried>): Promise<Tried[]> {
  const tries: Tried[] = [];
  for (let seed = 1; seed <= times; seed += 1) tries.push(await each(seed));
  return tries;
}

/** A line of the matrix. */
export interface FaultRow {
  readonly fault: string;
  readonly says: string;
  readonly tried: number;
  readonly survived: number;
  /** The most of all tries. */
  readonly lostSeconds: number | null;
  readonly alarmSeconds: number | null;
  readonly limitSeconds: number | null;
  readonly verdict: 'survived' | 'broken' | 'not tried';
  /** What was broken, or why it was not tried. */
  readonly notes: readonly string[];
}

/** So much of what was shown before a fault, or came after it, may be missing, s: a commit comes each second. */
export const mostLostSeconds = 1.5;

/** @throws what the fault throws; `unableToTry` tells it from a fault that was tried. */
export async function rowOf({ fault, run, says }: Fault, times: number): Promise<FaultRow> {
  const tries = await run(times);
  const broken = tries.flatMap(({ broken: words, where }) => words.map((text) => `${where}: ${text}`));
  const late = tries.flatMap(({ alarmSeconds, limitSeconds, where }) =>
    limitSeconds !== null && (alarmSeconds === null || alarmSeconds > limitSeconds)
      ? [`${where}: told after ${alarmSeconds?.toFixed(2) ?? 'never'} s, ${limitSeconds} allowed`]
      : [],
  );
  const lost = tries.flatMap(({ lostSeconds, where }) =>
    lostSeconds !== null && lostSeconds > mostLostSeconds
      ? [`${where}: ${lostSeconds.toFixed(2)} s are lost, ${mostLostSeconds} allowed`]
      : [],
  );
  const notes = [...broken, ...late, ...lost];
  const bad = new Set(notes.map((note) => note.split(': ')[0]));
  return {
    fault,
    says,
    tried: tries.length,
    survived: tries.filter(({ where }) => !bad.has(where)).length,
    lostSeconds: most(tries.map(({ lostSeconds }) => lostSeconds)),
    alarmSeconds: most(tries.map(({ alarmSeconds }) => alarmSeconds)),
    limitSeconds: most(tries.map(({ limitSeconds }) => limitSeconds)),
    verdict: tries.length === 0 ? 'not tried' : notes.length === 0 ? 'survived' : 'broken',
    notes,
  };
}

/** A fault that this machine does not let happen. */
export class UnableToTry extends Error {}

export async function rowOrReason(fault: Fault, times: number): Promise<FaultRow> {
  try {
    return await rowOf(fault, times);
  } catch (error) {
    const none = { tried: 0, survived: 0, lostSeconds: null, alarmSeconds: null, limitSeconds: null };
    const verdict = error instanceof UnableToTry ? 'not tried' : 'broken';
    return { fault: fault.fault, says: fault.says, ...none, verdict, notes: [String((error as Error).message)] };
  }
}

function most(values: readonly (number | null)[]): number | null {
  const there = values.filter((value) => value !== null);
  return there.length === 0 ? null : Math.round(1000 * Math.max(...there)) / 1000;
}

const seconds = (value: number | null): string => (value === null ? '-' : value.toFixed(2));

/** The matrix for people: a line for each fault, what was broken below it. */
export function tableOf(rows: readonly FaultRow[]): string {
  const cells = rows.map((row) => [
    row.fault,
    `${row.survived} of ${row.tried}`,
    seconds(row.lostSeconds),
    seconds(row.alarmSeconds),
    seconds(row.limitSeconds),
    row.verdict,
  ]);
  const head = ['fault', 'survived', 'lost s', 'told s', 'allowed s', 'verdict'];
  const widths = head.map((title, column) => Math.max(title.length, ...cells.map((row) => (row[column] ?? '').length)));
  const line = (row: readonly string[]): string =>
    row.map((cell, column) => cell.padEnd(widths[column] ?? 0)).join('  ').trimEnd();
  return [
    line(head),
    ...rows.flatMap((row, index) => [line(cells[index] ?? []), ...row.notes.map((note) => `    ${note}`)]),
  ].join('\n');
}
