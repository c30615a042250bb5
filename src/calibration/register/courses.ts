import type { CheckKind } from '../check/vocabulary.ts';
import type { KeptCheck } from '../check/standing.ts';
import type { RegisteredKind, RegisteredPlace } from '../../model/certificate.ts';
import type { RegisterRecord } from './record.ts';
import { isSamePlace } from './register.ts';

/** A time that an instrument has worked at one place of a rig; ms since 1970. */
export interface Stay {
  readonly rig: string;
  readonly at: RegisteredPlace;
  readonly fromMilliseconds: number;
  /** Null: it works there still. */
  readonly untilMilliseconds: number | null;
}

/** A check of a rig that tells of what works at a place. */
export interface TellingCheck {
  readonly check: CheckKind;
  /** Name of the port; null: the rig as a whole. */
  readonly subject: string | null;
  /** The figures that are about it begin with this; empty: all of them are. */
  readonly figure: string;
}

/**
 * Where an instrument has worked, oldest first: until it was placed elsewhere, another took its place, or it left.
 * @param readTime ms since 1970 of an ISO 8601 time.
 */
export function staysOf(
  instrument: string,
  records: readonly RegisterRecord[],
  readTime: (iso: string) => number,
): Stay[] {
  const stays: Stay[] = [];
  const kinds = new Map<string, RegisteredKind>();
  const leave = (atMilliseconds: number): void => {
    const last = stays.at(-1);
    if (last?.untilMilliseconds === null) stays[stays.length - 1] = { ...last, untilMilliseconds: atMilliseconds };
  };
  for (const { at: time, entry } of records) {
    const atMilliseconds = readTime(time);
    if (entry.entry === 'instrument') kinds.set(entry.instrument, entry.kind);
    // What is no longer known to be there counts for nothing, as in `foldRegister`.
    if (!kinds.has(entry.instrument)) continue;
    if (entry.entry === 'retired' && entry.instrument === instrument) leave(atMilliseconds);
    if (entry.entry !== 'placed') continue;
    const { at, rig } = entry;
    const placed = at === null || rig === null ? null : { rig, at };
    if (entry.instrument === instrument) {
      leave(atMilliseconds);
      if (placed !== null) stays.push({ ...placed, fromMilliseconds: atMilliseconds, untilMilliseconds: null });
      continue;
    }
    const here = stays.at(-1);
    const sameKind = kinds.get(entry.instrument) === kinds.get(instrument);
    if (placed !== null && here !== undefined && sameKind && isSamePlace(here, placed)) leave(atMilliseconds);
  }
  return stays;
}

/** Which checks of a rig tell of something of a kind at a place of it. */
export function checksTelling(kind: RegisteredKind, at: RegisteredPlace): TellingCheck[] {
  const whole = (check: CheckKind): TellingCheck => ({ check, subject: null, figure: '' });
  if (at.place === 'chamber') return kind === 'chamber' ? [whole('uniformity')] : [];
  if (at.place === 'port') {
    const line = (check: CheckKind): TellingCheck => ({ check, subject: at.name, figure: '' });
    return kind === 'diluter' ? [line('dilution')] : [line('dilution'), line('line-leak')];
  }
  const rhythm: TellingCheck = { check: 'clock', subject: null, figure: `interval ${at.name} ` };
  return [...(own[kind] ?? []).map(whole), rhythm];
}

/**
 * The results that were made while an instrument worked at a place, newest first, with the figures that are about it;
 * one without any of those is left out.
 */
export function resultsDuring(results: readonly KeptCheck[], stays: readonly Stay[], figure: string): KeptCheck[] {
  return results
    .filter(({ madeAtMilliseconds: made }) =>
      stays.some(
        ({ fromMilliseconds, untilMilliseconds }) =>
          made >= fromMilliseconds && (untilMilliseconds === null || made < untilMilliseconds),
      ),
    )
    .flatMap((one) => {
      const figures = one.result.figures.filter((found) => found.figure.startsWith(figure));
      // The verdict of a part is that of its figures: what failed besides is about something else.
      const passed = figure === '' ? one.result.passed : figures.every((found) => found.passed);
      return figures.length === 0 ? [] : [{ ...one, result: { ...one.result, figures, passed } }];
    })
    .sort((a, b) => b.number - a.number);
}

const own: Readonly<Partial<Record<RegisteredKind, readonly CheckKind[]>>> = {
  photometer: ['zero', 'span', 'detection-limit', 'linearity', 'response'],
  'selector-valve': ['valve'],
  'heart-rate': ['belt'],
};
