import { useEffect, useState } from 'react';
import type { Failure } from '../../../src/bridge/snapshot.ts';
import type { WireView } from '../../../src/bridge/wire.ts';
import type { Outcome } from '../../ui/use-perform.ts';
import { createWireLines } from './wire-lines.ts';
import type { WireLine } from './wire-lines.ts';

/** Between an answer and the next question, ms: ten times a second, and once where nobody sees it. */
const pauseMilliseconds = 100;
const hiddenMilliseconds = 1_000;

export interface SeenWire {
  readonly lines: readonly WireLine[];
  /** Number of the newest entry. */
  readonly newest: number;
  /** The newest answer without its entries; null before the first. */
  readonly view: Pick<WireView, 'counts' | 'capture' | 'guarded'> | null;
  /** Wall clock minus host clock, ms, from the first answer on; null before. */
  readonly wallOffsetMilliseconds: number | null;
  readonly failure: Failure | null;
}

const nothing: SeenWire = { lines: [], newest: 0, view: null, wallOffsetMilliseconds: null, failure: null };

/**
 * Asks for what goes over a wire for as long as the screen is there.
 * @param ask the same function for as long as the screen is there. @param perRow bytes of a row; 0: not known yet.
 */
export function useWire(
  ask: (instrument: string, after: number | null) => Promise<Outcome<WireView>>,
  instrument: string,
  perRow: number,
): SeenWire {
  const [seen, setSeen] = useState<SeenWire>(nothing);
  useEffect(() => {
    if (perRow === 0) return;
    const lines = createWireLines();
    let here = true;
    let timer: number | undefined;
    let offset: number | null = null;
    setSeen(nothing);
    const look = async (): Promise<void> => {
      const outcome = await ask(instrument, lines.after);
      if (!here) return;
      if (outcome.done) {
        const { capture, counts, guarded, more, nowMicroseconds } = outcome.value;
        offset ??= Date.now() - nowMicroseconds / 1000;
        lines.add(outcome.value, perRow);
        const wallOffsetMilliseconds = offset;
        setSeen({
          lines: lines.lines,
          newest: lines.after ?? 0,
          view: { capture, counts, guarded },
          wallOffsetMilliseconds,
          failure: null,
        });
        if (more) return look();
      } else setSeen((before) => ({ ...before, failure: outcome.failure }));
      const pause = document.hidden || !outcome.done ? hiddenMilliseconds : pauseMilliseconds;
      timer = window.setTimeout(() => void look(), pause);
    };
    void look();
    return () => {
      here = false;
      window.clearTimeout(timer);
    };
  }, [ask, instrument, perRow]);
  return seen;
}
