import type { ServedHost } from '../door/served-host.ts';
import type { Snapshot } from '../../bridge/snapshot.ts';
import type { WindowOpener } from '../window/window-opener.ts';

/** Who acts by the stop key, for the record. */
const stopNote = 'stop key';

/** Whether somebody may be at work in the chamber. */
export function isTrialUnderWay({ trial }: Snapshot): boolean {
  return trial !== null && trial.phase !== 'closed';
}

/**
 * Tells windows of the desktop program whether a trial is under way, and stops it when their stop key is pressed.
 * @param refused told why a stop was refused, in words.
 * @returns a function that ends it.
 */
export function serveDesktopWindows(
  host: ServedHost,
  openers: readonly WindowOpener[],
  refused: (why: string) => void,
): () => void {
  let told = false;
  const tell = (snapshot: Snapshot): void => {
    const underWay = isTrialUnderWay(snapshot);
    if (underWay === told) return;
    told = underWay;
    for (const opener of openers) opener.trialUnderWay?.(underWay);
  };
  for (const opener of openers) {
    opener.onStop?.(() => {
      const { trial } = host.snapshot();
      if (trial === null) return;
      host.procedures.trial
        .command(
          {
            trial: trial.header.trial,
            action: 'stop',
            note: stopNote,
            exercise: null,
            windowOffsetMilliseconds: null,
          },
          { window: 0 },
        )
        .catch((error: unknown) => refused(error instanceof Error ? error.message : String(error)));
    });
  }
  tell(host.snapshot());
  return host.onSnapshot(tell);
}
