import type { Cancel } from '../../device/timers.ts';

interface Entry {
  readonly atMicroseconds: number;
  readonly sequence: number;
  callback: (() => void) | undefined;
}

/** Callbacks waiting for their time, ordered by (time, order of insertion). */
export interface EventQueue {
  /** Time of the earliest callback, µs; undefined when none waits. */
  next(): number | undefined;
  /** Removes the earliest callback and returns it; undefined when none waits. */
  take(): (() => void) | undefined;
  add(atMicroseconds: number, callback: () => void): Cancel;
}

function before(a: Entry, b: Entry): boolean {
  return a.atMicroseconds < b.atMicroseconds || (a.atMicroseconds === b.atMicroseconds && a.sequence < b.sequence);
}

/** A binary heap. A cancelled callback is forgotten at once; its place is given up when it reaches the top. */
export function createEventQueue(): EventQueue {
  const heap: Entry[] = [];
  let sequence = 0;

  const removeTop = (): void => {
    const last = heap.pop() as Entry;
    if (heap.length === 0) return;
    let index = 0;
    for (;;) {
      let child = 2 * index + 1;
      if (child >= heap.length) break;
      const right = child + 1;
      if (right < heap.length && before(heap[right] as Entry, heap[child] as Entry)) child = right;
      if (!before(heap[child] as Entry, last)) break;
      heap[index] = heap[child] as Entry;
      index = child;
    }
    heap[index] = last;
  };

  const top = (): Entry | undefined => {
    while (heap.length > 0 && (heap[0] as Entry).callback === undefined) removeTop();
    return heap[0];
  };

  return {
    next: () => top()?.atMicroseconds,
    take() {
      const entry = top();
      if (entry === undefined) return undefined;
      removeTop();
      const callback = entry.callback;
      entry.callback = undefined;
      return callback;
    },
    add(atMicroseconds, callback) {
      const entry: Entry = { atMicroseconds, sequence, callback };
      sequence += 1;
      let index = heap.length;
      heap.push(entry);
      while (index > 0) {
        const parent = (index - 1) >> 1;
        if (!before(entry, heap[parent] as Entry)) break;
        heap[index] = heap[parent] as Entry;
        index = parent;
      }
      heap[index] = entry;
      return () => {
        entry.callback = undefined;
      };
    },
  };
}

/** A time as whole microseconds. @throws RangeError when it is not a number that a timer can wait for. */
export function wholeMicroseconds(microseconds: number): number {
  if (!Number.isFinite(microseconds)) throw new RangeError(`a timer cannot wait for ${microseconds} µs`);
  return Math.round(microseconds);
}
