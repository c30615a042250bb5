import type { Cancel, Clock } from '../../device/timers.ts';
import type { Snapshot } from '../../bridge/snapshot.ts';

/** Shortest time between two snapshots, µs: twenty a second. */
const intervalMicroseconds = 50_000;

/** Makes snapshots when something has changed, and tells whoever listens, at most twenty times a second. */
export interface SnapshotPublisher {
  /** Something has changed. */
  mark(): void;
  /** The newest, made now when something has changed since the last one. */
  snapshot(): Snapshot;
  /** @returns a function that ends it. */
  listen(listener: (snapshot: Snapshot) => void): () => void;
  /** Tells what is new a last time and leaves no timer behind. */
  end(): void;
}

/** @param build the snapshot of now, without its version. */
export function createSnapshotPublisher(clock: Clock, build: () => Omit<Snapshot, 'version'>): SnapshotPublisher {
  const listeners = new Set<(snapshot: Snapshot) => void>();
  let newest: Snapshot | null = null;
  let dirty = true;
  let publishedAt = Number.NEGATIVE_INFINITY;
  let told = -1;
  let cancel: Cancel | undefined;
  let ended = false;

  const snapshot = (): Snapshot => {
    if (newest !== null && !dirty) return newest;
    dirty = false;
    newest = { version: (newest?.version ?? 0) + 1, ...build() };
    return newest;
  };
  const publish = (): void => {
    cancel?.();
    cancel = undefined;
    publishedAt = clock.now();
    const now = snapshot();
    if (now.version === told) return;
    told = now.version;
    for (const listener of [...listeners]) listener(now);
  };

  return {
    mark() {
      dirty = true;
      if (ended || cancel !== undefined) return;
      const wait = Math.max(0, publishedAt + intervalMicroseconds - clock.now());
      cancel = clock.after(wait, publish);
    },
    snapshot,
    listen(listener) {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    },
    end() {
      if (dirty) publish();
      ended = true;
      cancel?.();
      listeners.clear();
    },
  };
}
