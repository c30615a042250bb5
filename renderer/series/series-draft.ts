import type { Exercise, Movement, Series } from '../../src/model/series.ts';
import { highestVersion, seriesEntrySchema } from '../../src/model/series-entry.ts';
import { seriesFaults } from '../../src/series/faults.ts';
import { sameSeries } from '../../src/series/own-series.ts';
import type { FieldProblem } from '../ui/field-problem.ts';
import { problemOfIssue } from '../ui/field-problem.ts';
import { readNumber } from '../ui/read-number.ts';

/** Members of an exercise that are numbers, as they are typed. */
export const exerciseNumbers = [
  ...(['restSeconds', 'restZeroSeconds', 'leadInSeconds', 'durationSeconds', 'dwellsPerProbe'] as const),
  ...(['cadencePerMinute', 'workRateWatts'] as const),
] as const;
type ExerciseNumber = (typeof exerciseNumbers)[number];

export interface ExerciseDraft extends Readonly<Record<ExerciseNumber, string>> {
  /** Tells exercises apart while names change. */
  readonly key: number;
  readonly exercise: string;
  readonly name: string;
  readonly instruction: string;
  /** Empty: none. */
  readonly operatorText: string;
  readonly movement: Movement | '';
}

/** Numbers around the exercises, by their path in the file. */
export const aroundNumbers = [
  ...(['background.zeroSeconds', 'background.dwellSeconds', 'entry.minimumSeconds', 'entry.maximumSeconds'] as const),
  ...(['entry.steadyRangePercent', 'entry.steadyWindowSeconds', 'entry.leastChallengePercent'] as const),
  ...(['closing.referenceSeconds', 'closing.zeroSeconds'] as const),
] as const;
export type AroundNumber = (typeof aroundNumbers)[number];

/** A series on its way: as the form shows it. */
export interface SeriesDraft {
  /** What it was begun from, or was kept as last. */
  readonly base: Series;
  /** Begun from a file: as it is there it keeps its version. */
  readonly imported: boolean;
  readonly name: string;
  readonly source: string;
  readonly around: Readonly<Record<AroundNumber, string>>;
  readonly exercises: readonly ExerciseDraft[];
  /** Index of the exercise in the form. */
  readonly chosen: number;
  readonly nextKey: number;
  readonly orderKind: Series['order']['kind'];
  readonly forbidden: readonly (readonly [string, string])[];
  /** Exercises that were removed, the last one last, with the index that each had. */
  readonly removed: readonly { readonly exercise: ExerciseDraft; readonly at: number }[];
}

export type SeriesChange =
  | { readonly change: 'text'; readonly field: 'name' | 'source'; readonly value: string }
  | { readonly change: 'around'; readonly field: AroundNumber; readonly value: string }
  | { readonly change: 'exercise'; readonly value: Partial<Omit<ExerciseDraft, 'key'>> }
  | { readonly change: 'choose'; readonly index: number }
  | { readonly change: 'add' | 'duplicate' | 'remove' | 'restore' }
  | { readonly change: 'move'; readonly by: -1 | 1 }
  | { readonly change: 'order'; readonly kind: Series['order']['kind'] }
  | { readonly change: 'forbid'; readonly pair: readonly [string, string] }
  | { readonly change: 'allow'; readonly index: number }
  /** It is kept as this. What was typed meanwhile stays. */
  | { readonly change: 'kept'; readonly series: Series };

/** A draft of a series, its first exercise in the form. @param name another one, for what begins from a template. */
export function seriesDraft(base: Series, name = base.name, imported = false): SeriesDraft {
  const around = Object.fromEntries(aroundNumbers.map((path) => [path, String(memberAt(base, path))]));
  return {
    base,
    imported,
    name,
    source: name === base.name ? base.source : `Begun from "${base.name}", version ${base.version}. ${base.source}`,
    around: around as SeriesDraft['around'],
    exercises: base.exercises.map(exerciseDraft),
    chosen: 0,
    nextKey: base.exercises.length,
    orderKind: base.order.kind,
    forbidden: base.order.forbidden,
    removed: [],
  };
}

function exerciseDraft(exercise: Exercise, key: number): ExerciseDraft {
  const numbers = Object.fromEntries(exerciseNumbers.map((field) => [field, textOf(exercise[field])]));
  return {
    ...(numbers as Record<ExerciseNumber, string>),
    key,
    exercise: exercise.exercise,
    name: exercise.name,
    instruction: exercise.instruction,
    operatorText: exercise.operatorText ?? '',
    movement: exercise.movement ?? '',
  };
}

/** The draft after one change; the same draft where the change means nothing. Pure. */
export function changeSeries(draft: SeriesDraft, change: SeriesChange): SeriesDraft {
  const { chosen, exercises, nextKey } = draft;
  const here = exercises[chosen];
  const placed = (list: readonly ExerciseDraft[], at: number): SeriesDraft => ({
    ...draft,
    exercises: list,
    chosen: Math.min(Math.max(at, 0), list.length - 1),
    nextKey: nextKey + 1,
  });
  switch (change.change) {
    case 'kept':
      return { ...draft, base: change.series, imported: false };
    case 'text':
      return { ...draft, [change.field]: change.value };
    case 'around':
      return { ...draft, around: { ...draft.around, [change.field]: change.value } };
    case 'order':
      return { ...draft, orderKind: change.kind };
    case 'forbid': {
      const [before, after] = change.pair;
      const known = before === after || draft.forbidden.some((pair) => pair[0] === before && pair[1] === after);
      return known ? draft : { ...draft, forbidden: [...draft.forbidden, change.pair] };
    }
    case 'allow':
      return { ...draft, forbidden: draft.forbidden.filter((_, index) => index !== change.index) };
    case 'choose':
      return exercises[change.index] === undefined ? draft : { ...draft, chosen: change.index };
    case 'exercise': {
      if (here === undefined) return draft;
      const changed = { ...here, ...change.value };
      const others = exercises.filter((one) => one !== here).map(({ exercise }) => exercise);
      // The short name follows the name for as long as nobody has given it one of its own.
      const follows =
        change.value.name !== undefined &&
        change.value.exercise === undefined &&
        here.exercise === freeSlug(here.name, others);
      const next = follows ? { ...changed, exercise: freeSlug(changed.name, others) } : changed;
      return { ...draft, exercises: exercises.map((one) => (one === here ? next : one)) };
    }
    case 'add':
    case 'duplicate': {
      const model = here ?? exerciseDraft(blank, 0);
      const isNew = change.change === 'add';
      const names = exercises.map((one) => one.name);
      const name = isNew ? blank.name : freeName(model.name, names);
      const slugs = exercises.map(({ exercise }) => exercise);
      const texts = isNew ? { instruction: '', operatorText: '', movement: '' as const } : {};
      const exercise = freeSlug(isNew ? name : model.exercise, slugs);
      const added = { ...model, ...texts, key: nextKey, name, exercise };
      return placed([...exercises.slice(0, chosen + 1), added, ...exercises.slice(chosen + 1)], chosen + 1);
    }
    case 'remove':
      if (exercises.length < 2 || here === undefined) return draft;
      return {
        ...placed(exercises.filter((one) => one !== here), chosen),
        removed: [...draft.removed, { exercise: here, at: chosen }],
      };
    case 'restore': {
      const last = draft.removed.at(-1);
      if (last === undefined) return draft;
      // Another one may have taken its short name meanwhile.
      const taken = exercises.some(({ exercise }) => exercise === last.exercise.exercise);
      const slugs = exercises.map(({ exercise }) => exercise);
      const back = taken ? { ...last.exercise, exercise: freeSlug(last.exercise.exercise, slugs) } : last.exercise;
      const list = [...exercises.slice(0, last.at), back, ...exercises.slice(last.at)];
      return { ...placed(list, last.at), removed: draft.removed.slice(0, -1) };
    }
    case 'move': {
      const to = chosen + change.by;
      const other = exercises[to];
      if (here === undefined || other === undefined) return draft;
      const moved = exercises.map((one, index) => (index === chosen ? other : index === to ? here : one));
      return placed(moved, to);
    }
  }
}

export interface ReadSeries {
  readonly series: Series | null;
  /** By path in the file: `exercises.2.leadInSeconds`. */
  readonly problems: ReadonlyMap<string, FieldProblem>;
}

/** The series that was typed, or what is wrong with it by field: refused by the schema, or contradicting itself. */
export function readSeriesDraft(draft: SeriesDraft): ReadSeries {
  const problems = new Map<string, FieldProblem>();
  const number = (path: string, text: string): number => {
    const value = readNumber(text);
    if (value === null) problems.set(path, text.trim() === '' ? { kind: 'empty' } : { kind: 'not-a-number' });
    return value ?? 0;
  };
  const around = (path: AroundNumber): number => number(path, draft.around[path]);
  const candidate: Series = {
    name: draft.name.trim(),
    version: draft.base.version,
    source: oneLine(draft.source),
    background: { zeroSeconds: around('background.zeroSeconds'), dwellSeconds: around('background.dwellSeconds') },
    entry: {
      minimumSeconds: around('entry.minimumSeconds'),
      maximumSeconds: around('entry.maximumSeconds'),
      steadyRangePercent: around('entry.steadyRangePercent'),
      steadyWindowSeconds: around('entry.steadyWindowSeconds'),
      leastChallengePercent: around('entry.leastChallengePercent'),
    },
    exercises: draft.exercises.map((one, index) => readExercise(one, `exercises.${index}.`, number)),
    closing: { referenceSeconds: around('closing.referenceSeconds'), zeroSeconds: around('closing.zeroSeconds') },
    order: {
      kind: draft.orderKind,
      offset: draft.base.order.offset,
      forbidden: draft.forbidden.map(([before, after]) => [before, after]),
    },
  };
  const parsed = seriesEntrySchema.safeParse(candidate);
  for (const issue of parsed.error?.issues ?? []) {
    const path = issue.path.map(String).join('.');
    if (!problems.has(path)) problems.set(path, problemOfIssue(issue));
  }
  for (const { path, remedy, what } of seriesFaults(candidate)) {
    if (!problems.has(path)) problems.set(path, { kind: 'said', text: `${what}. ${remedy.replace(/\.$/, '')}` });
  }
  return { series: problems.size === 0 && parsed.success ? parsed.data : null, problems };
}

function readExercise(
  draft: ExerciseDraft,
  before: string,
  number: (path: string, text: string) => number,
): Exercise {
  const needed = (field: ExerciseNumber): number => number(before + field, draft[field]);
  const mayLack = (field: ExerciseNumber): number | null => (draft[field].trim() === '' ? null : needed(field));
  return {
    exercise: draft.exercise.trim(),
    name: draft.name.trim(),
    instruction: oneLine(draft.instruction),
    ...(draft.operatorText.trim() === '' ? {} : { operatorText: oneLine(draft.operatorText) }),
    restSeconds: needed('restSeconds'),
    restZeroSeconds: needed('restZeroSeconds'),
    leadInSeconds: needed('leadInSeconds'),
    durationSeconds: needed('durationSeconds'),
    dwellsPerProbe: needed('dwellsPerProbe'),
    cadencePerMinute: mayLack('cadencePerMinute'),
    ...(draft.movement === '' ? {} : { movement: draft.movement }),
    workRateWatts: mayLack('workRateWatts'),
  };
}

/** Texts are one line in the file: a line end that was typed is a blank. */
function oneLine(text: string): string {
  return text.trim().replace(/\s*[\r\n]+\s*/g, ' ');
}

/** Whether two drafts show the same in their fields. */
export function sameFields(one: SeriesDraft, other: SeriesDraft): boolean {
  const shown = ({ around, exercises, forbidden, name, orderKind, source }: SeriesDraft): string => {
    const typed = exercises.map((exercise) => ({ ...exercise, key: 0 }));
    return JSON.stringify([name, source, around, orderKind, forbidden, typed]);
  };
  return shown(one) === shown(other);
}

/**
 * The version that a draft asks to be kept under: a file as it is keeps its own, where that is above the newest, so
 * that it is the same series in both places; every change takes one above both.
 * @param newest of the laboratory under its name; null: it has none.
 */
export function versionAskedFor(draft: SeriesDraft, series: Series, newest: Series | null): number {
  const latest = newest?.version ?? 0;
  const { base, imported } = draft;
  if (!imported || series.name !== base.name) return latest + 1;
  if (sameSeries(series, base)) return base.version > latest ? base.version : latest + 1;
  return Math.min(Math.max(latest, base.version), highestVersion - 1) + 1;
}

const blank: Exercise = {
  exercise: 'new-exercise',
  name: 'New exercise',
  instruction: '',
  restSeconds: 30,
  restZeroSeconds: 2,
  leadInSeconds: 20,
  durationSeconds: 110,
  dwellsPerProbe: 1,
  cadencePerMinute: null,
  workRateWatts: null,
};

/** A name with the next number that is free: `Side bends 2`. */
function freeName(name: string, taken: readonly string[]): string {
  const plain = name.replace(/ \d+$/, '');
  let count = 2;
  while (taken.includes(`${plain} ${count}`)) count += 1;
  return `${plain} ${count}`;
}

/** A short name made of a name, with a number where it is taken. */
export function freeSlug(name: string, taken: readonly string[]): string {
  const plain = name.normalize('NFKD').toLowerCase();
  const words = plain.replace(/[\u0300-\u036f]/g, '').split(/[^a-z0-9]+/);
  const slug = words.filter((word) => word !== '').join('-').slice(0, 36).replace(/-$/, '') || 'exercise';
  let free = slug;
  for (let count = 2; taken.includes(free); count += 1) free = `${slug}-${count}`;
  return free;
}

function textOf(value: number | null): string {
  return value === null ? '' : String(value);
}

function memberAt(series: Series, path: AroundNumber): number {
  const [part = '', member = ''] = path.split('.');
  return (series as unknown as Record<string, Record<string, number>>)[part]?.[member] ?? 0;
}
