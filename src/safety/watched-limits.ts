import type { Reading } from '../model/reading.ts';
import { toSeconds } from '../model/time.ts';
import { units } from '../model/unit.ts';
import type { Unit } from '../model/unit.ts';
import { alarmOfLimit } from '../model/watched-limit.ts';
import type { WatchedLimit } from '../model/watched-limit.ts';
import { clear, keyOf, raise } from './alarm-work.ts';
import type { Beyond, Work } from './alarm-work.ts';

/**
 * Holds a reading against every limit of its stream. A run of values beyond the limit begins with the first of them,
 * and is broken by one that is not beyond it, and by a silence of more than a tenth of the time it has to last, because
 * nobody knows what happened in it. The pace at which a stream speaks is no silence: up to its silence limit, where it
 * has one, a run goes on, and over any silence where it has none. A limit without such a time counts at the first
 * value.
 */
export function watchLimits(
  work: Work,
  reading: Reading,
  limits: readonly WatchedLimit[],
  silenceLimitSeconds: number | null,
): void {
  for (const limit of limits) {
    if (limit.instrument !== reading.instrument || limit.stream !== reading.stream) continue;
    const alarm = alarmOfLimit(limit);
    const { atMicroseconds, value } = reading;
    const isBeyond = limit.side === 'above' ? value > limit.limit : value < limit.limit;
    const before = work.state.beyond[alarm];
    const stood = work.state.stoodBefore.includes(alarm);
    if (!isBeyond) {
      if (stood) {
        work.state = { ...work.state, stoodBefore: work.state.stoodBefore.filter((other) => other !== alarm) };
      }
      if (before !== undefined) work.state = { ...work.state, beyond: without(work.state.beyond, alarm) };
      const back = limit.side === 'above' ? limit.limit - value : value - limit.limit;
      if (back >= limit.clearBy) clear(work, alarm, limit.instrument, `${saidOf(limit, value)} again.`);
      continue;
    }
    const gap = before === undefined ? 0 : toSeconds(atMicroseconds - before.lastMicroseconds);
    const bridged = Math.max(limit.holdSeconds / 10, silenceLimitSeconds ?? Number.POSITIVE_INFINITY);
    const goesOn = before !== undefined && gap <= bridged;
    const sinceMicroseconds = goesOn ? before.sinceMicroseconds : atMicroseconds;
    const beyond = { ...work.state.beyond, [alarm]: { sinceMicroseconds, lastMicroseconds: atMicroseconds } };
    work.state = { ...work.state, beyond };
    // An interruption is no time within the limit: who was beyond it for so long before goes on from there.
    if (!stood && toSeconds(atMicroseconds - sinceMicroseconds) < limit.holdSeconds) continue;
    raise(work, alarm, limit.instrument, `${saidOf(limit, value)}, ${beyondText(limit)}.`);
  }
}

function without(beyond: Readonly<Record<string, Beyond>>, alarm: string): Record<string, Beyond> {
  return Object.fromEntries(Object.entries(beyond).filter(([name]) => name !== alarm));
}

function withUnit(value: string, { unit }: WatchedLimit): string {
  const { symbol } = units[unit];
  return symbol.startsWith('/') || symbol === '' ? `${value}${symbol}` : `${value} ${symbol}`;
}

function saidOf(limit: WatchedLimit, value: number): string {
  // Enough figures that a value never reads like the limit it is beyond.
  return `${limit.stream.replaceAll('-', ' ')} ${withUnit(String(Number(value.toPrecision(7))), limit)}`;
}

/** `above 140/min for 3 min` */
export function beyondText(limit: WatchedLimit): string {
  const held = limit.holdSeconds === 0 ? '' : ` for ${durationText(limit.holdSeconds)}`;
  return `${limit.side} ${withUnit(String(limit.limit), limit)}${held}`;
}

function durationText(seconds: number): string {
  return seconds % 60 === 0 ? `${seconds / 60} min` : `${seconds} s`;
}

/** Limits by `instrument/stream` that name no stream of the rig, or one with another unit. */
export function limitsWithoutStream(
  limits: readonly WatchedLimit[],
  streams: readonly { readonly instrument: string; readonly stream: string; readonly unit: Unit }[],
): { readonly limit: WatchedLimit; readonly why: string }[] {
  return limits.flatMap((limit) => {
    const key = keyOf(limit.instrument, limit.stream);
    const found = streams.find(({ instrument, stream }) => keyOf(instrument, stream) === key);
    if (found === undefined) return [{ limit, why: `${limit.instrument} gives no ${limit.stream}` }];
    if (found.unit === limit.unit) return [];
    const symbolOf = (unit: Unit): string => (units[unit].symbol === '' ? 'no unit' : units[unit].symbol);
    return [{ limit, why: `${key} is in ${symbolOf(found.unit)}, and the limit in ${symbolOf(limit.unit)}` }];
  });
}
