import { useEffect, useState } from 'react';
import type { CellExplanation } from '../../src/bridge/result.ts';
import type { Outcome } from '../ui/use-perform.ts';
import type { Place } from './result-view.ts';
import { placeKey } from './result-view.ts';

/** A place stays chosen for so long before it is asked for, ms: arrow keys pass over many. */
const restMilliseconds = 120;

/** The explanation of a place; null until it is there. What comes for an earlier place is left aside. */
export function useExplanation(
  place: Place,
  explain: (place: Place) => Promise<Outcome<CellExplanation>>,
): Outcome<CellExplanation> | null {
  const key = placeKey(place);
  const [known, setKnown] = useState<{ readonly key: string; readonly outcome: Outcome<CellExplanation> } | null>(null);
  useEffect(() => {
    let wanted = true;
    const waiting = setTimeout(() => {
      void explain(place).then((outcome) => {
        if (wanted) setKnown({ key, outcome });
      });
    }, restMilliseconds);
    return () => {
      wanted = false;
      clearTimeout(waiting);
    };
    // The place is named by its key, and what asks for it does not change what is known.
  }, [key]);
  return known?.key === key ? known.outcome : null;
}
