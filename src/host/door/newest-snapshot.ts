import type { Snapshot } from '../../bridge/snapshot.ts';
import type { ServedHost } from './served-host.ts';

/**
 * The newest snapshot at once, then the newest after every change. Nothing waits in a queue: while the window has not
 * taken the one before, versions pass by, and then it gets the one that is newest at that moment.
 *
 * @param taken settles when the window has taken what was sent to it.
 * @param signal ends it; a caller that stops asking ends it too.
 */
export async function* newestSnapshots(
  host: Pick<ServedHost, 'snapshot' | 'onSnapshot'>,
  taken: () => Promise<void>,
  signal: AbortSignal | undefined,
): AsyncGenerator<Snapshot, void, void> {
  let wake: () => void = () => undefined;
  const rouse = (): void => wake();
  const forget = host.onSnapshot(rouse);
  signal?.addEventListener('abort', rouse);
  const ended = (): boolean => signal?.aborted === true;
  try {
    let sent = -1;
    while (!ended()) {
      const snapshot = host.snapshot();
      if (snapshot.version > sent) {
        sent = snapshot.version;
        yield snapshot;
        await taken();
      } else {
        await new Promise<void>((resolve) => {
          wake = resolve;
        });
      }
    }
  } finally {
    forget();
    signal?.removeEventListener('abort', rouse);
  }
}
