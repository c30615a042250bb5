import type { ResultCell, TrialResult } from '../../src/bridge/result.ts';
import type { Port } from '../../src/model/rig.ts';
import { probePorts } from '../../src/model/rig.ts';

type Assessment = NonNullable<TrialResult['assessment']>;
export type Mean = Assessment['overall'];

/** A place in the table: a probe and an exercise. */
export interface Place {
  readonly probe: string;
  readonly exercise: string;
}

export interface TableRow {
  readonly port: Port;
  /** One for each exercise of the table, in its order; null where the assessment holds no cell. */
  readonly cells: readonly (ResultCell | null)[];
  readonly mean: Mean | null;
}

/** Probes in body order down, exercises in time order to the right. */
export interface ResultTable {
  readonly exercises: readonly { readonly exercise: string; readonly name: string; readonly mean: Mean | null }[];
  readonly rows: readonly TableRow[];
  readonly overall: Mean;
}

/** The table of an assessed trial; null while it has not been assessed. */
export function resultTable(result: TrialResult): ResultTable | null {
  const { assessment } = result;
  if (assessment === null) return null;
  const cells = new Map(assessment.cells.map((cell) => [placeKey(cell), cell]));
  const exercises = result.exercises.map(({ exercise, name }) => ({
    exercise,
    name,
    mean: assessment.exercises.find((mean) => mean.exercise === exercise) ?? null,
  }));
  return {
    exercises,
    rows: probePorts(result.rig).map((port) => ({
      port,
      cells: exercises.map(({ exercise }) => cells.get(placeKey({ probe: port.probe, exercise })) ?? null),
      mean: assessment.probes.find((mean) => mean.probe === port.probe) ?? null,
    })),
    overall: assessment.overall,
  };
}

/** The cell at a place, or null where there is none. */
export function cellAt(table: ResultTable, place: Place): ResultCell | null {
  const column = table.exercises.findIndex(({ exercise }) => exercise === place.exercise);
  return table.rows.find(({ port }) => port.probe === place.probe)?.cells[column] ?? null;
}

export type Step = 'left' | 'right' | 'up' | 'down';

/** The place next to another one, kept inside the table. */
export function placeAfter(table: ResultTable, place: Place, step: Step): Place {
  const lastColumn = table.exercises.length - 1;
  const lastRow = table.rows.length - 1;
  let column = table.exercises.findIndex(({ exercise }) => exercise === place.exercise);
  let row = table.rows.findIndex(({ port }) => port.probe === place.probe);
  if (step === 'left') column -= 1;
  else if (step === 'right') column += 1;
  else if (step === 'up') row -= 1;
  else row += 1;
  const exercise = table.exercises[Math.min(Math.max(column, 0), lastColumn)];
  const port = table.rows[Math.min(Math.max(row, 0), lastRow)]?.port;
  return exercise === undefined || port === undefined ? place : { exercise: exercise.exercise, probe: port.probe };
}

/** Places of flagged cells in order of time, then of the body. */
export function flaggedPlaces(table: ResultTable): Place[] {
  return table.exercises.flatMap(({ exercise }, column) =>
    table.rows
      .filter(({ cells }) => cells[column]?.flagged === true)
      .map(({ port }) => ({ exercise, probe: port.probe })),
  );
}

/** The flagged place after another, going round; null when nothing is flagged. */
export function nextFlagged(table: ResultTable, from: Place | null): Place | null {
  const places = flaggedPlaces(table);
  const at = from === null ? -1 : places.findIndex((place) => placeKey(place) === placeKey(from));
  return places[(at + 1) % places.length] ?? null;
}

/** The place to begin with: the first flagged cell, else the first one. */
export function firstPlace(table: ResultTable): Place | null {
  const exercise = table.exercises[0]?.exercise;
  const probe = table.rows[0]?.port.probe;
  return nextFlagged(table, null) ?? (exercise === undefined || probe === undefined ? null : { exercise, probe });
}

/** One text for a place, to compare and to look up. */
export function placeKey(place: Place): string {
  return `${place.probe}/${place.exercise}`;
}
