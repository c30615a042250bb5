import { useCallback, useEffect, useRef, useState } from 'react';
import type { Failure } from '../../src/bridge/snapshot.ts';

/** What a procedure of the host came to: its answer, or its refusal. */
export type Outcome<Value> =
  { readonly done: true; readonly value: Value } | { readonly done: false; readonly failure: Failure };

/**
 * One thing at a time that is asked of the host: whether it is under way, and why it was refused. A second press
 * while the first is under way does nothing.
 */
export function usePerform(): {
  readonly busy: boolean;
  readonly failure: Failure | null;
  readonly perform: <Value>(ask: () => Promise<Outcome<Value>>, then?: (value: Value) => void) => void;
  readonly forget: () => void;
} {
  const [busy, setBusy] = useState(false);
  const [failure, setFailure] = useState<Failure | null>(null);
  const under = useRef(false);
  const here = useRef(true);
  useEffect(() => {
    here.current = true;
    return () => {
      here.current = false;
    };
  }, []);
  const perform = useCallback(<Value>(ask: () => Promise<Outcome<Value>>, then?: (value: Value) => void): void => {
    if (under.current) return;
    under.current = true;
    setBusy(true);
    setFailure(null);
    void ask().then((outcome) => {
      under.current = false;
      if (!here.current) return;
      setBusy(false);
      if (outcome.done) then?.(outcome.value);
      else setFailure(outcome.failure);
    });
  }, []);
  const forget = useCallback(() => {
    setFailure(null);
  }, []);
  return { busy, failure, perform, forget };
}
