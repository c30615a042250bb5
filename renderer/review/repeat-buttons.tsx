import type { ReactElement } from 'react';
import type { TrialResult } from '../../src/bridge/result.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { repeatWords as words } from '../words/repeat.ts';

/** Doing a void or stopped trial again by its own plan: all of it, or from where it was broken off. */
export function RepeatButtons(props: {
  readonly result: TrialResult;
  readonly repeat: (from: string | null) => Promise<Outcome<unknown>>;
}): ReactElement | null {
  const { repeat: offer, series } = props.result;
  const { busy, failure, perform } = usePerform();
  if (offer === null) return null;
  const from = series.exercises.find(({ exercise }) => exercise === offer.from);
  return (
    <>
      <Button small hotkey="T" disabled={busy} onPress={() => perform(() => props.repeat(null))}>
        {words.again}
      </Button>
      {from !== undefined && (
        <Button small hotkey="G" disabled={busy} onPress={() => perform(() => props.repeat(from.exercise))}>
          {words.from(from.name)}
        </Button>
      )}
      {failure !== null && !busy && <FailureBlock failure={failure} />}
    </>
  );
}

/** Which trial this one repeats, and which repeat it: each leads there. */
export function RepeatLinks(props: {
  readonly result: TrialResult;
  readonly toTrial: (trial: string) => void;
}): ReactElement | null {
  const { header, repeatedBy, series } = props.result;
  const { repeats } = header;
  const name = series.exercises.find(({ exercise }) => exercise === repeats?.from)?.name ?? null;
  return (
    <>
      {repeats !== undefined && (
        <Button small onPress={() => props.toTrial(repeats.trial)}>
          {words.repeats(repeats.trial, name)}
        </Button>
      )}
      {repeatedBy.map((trial) => (
        <Button key={trial} small onPress={() => props.toTrial(trial)}>
          {words.repeatedBy(trial)}
        </Button>
      ))}
    </>
  );
}
