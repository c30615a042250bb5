import type { ReactElement } from 'react';
import { useState } from 'react';
import type { TrialResult } from '../../src/bridge/result.ts';
import type { VoidAsk } from '../../src/bridge/review.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { TextField } from '../ui/field.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { reviewWords } from '../words/review.ts';
import { voidWords as words } from '../words/void.ts';
import { isReason, reasonProblem } from './reason.ts';
import type { Reviewer } from './reviewer-fields.tsx';
import { ReviewerFields, useSigning } from './reviewer-fields.tsx';
import './review.css';

/** A reviewer makes the trial void, or lets it count again: a new record each time, beside the sealed one. */
export function VoidPanel(props: {
  readonly voidings: TrialResult['voidings'];
  readonly reviewers: readonly Reviewer[];
  /** Code of who is at the rig. */
  readonly here: string | null;
  readonly decide: (asked: VoidAsk) => Promise<Outcome<unknown>>;
  readonly onClose: () => void;
}): ReactElement {
  const { reviewers, voidings } = props;
  const { busy, failure, perform } = usePerform();
  const [signing, setSigning] = useSigning(reviewers, props.here);
  const [reason, setReason] = useState('');
  const isVoid = voidings.at(-1)?.decision === 'void';
  const ready = isReason(reason) && signing.person !== '' && signing.pin !== '';
  const ask = (): void => {
    const asked = { ...signing, reason: reason.trim(), decision: isVoid ? ('withdrawn' as const) : ('void' as const) };
    perform(() => props.decide(asked), props.onClose);
  };
  return (
    <section className="panel cell-panel review-panel" tabIndex={0} aria-label={isVoid ? words.titleVoid : words.title}>
      <header>
        <h2>{isVoid ? words.titleVoid : words.title}</h2>
        <Button small hotkey="Esc" onPress={props.onClose}>
          {words.close}
        </Button>
      </header>
      <form
        className="review-form"
        onSubmit={(event) => {
          event.preventDefault();
          if (ready && !busy) ask();
        }}
      >
        <p className="quiet">{isVoid ? words.whatBack : words.what}</p>
        <TextField
          label={words.reason}
          hint={words.reasonHint}
          value={reason}
          problem={reasonProblem(reason)}
          onChange={setReason}
        />
        {reviewers.length === 0 ? (
          <p className="flag">{reviewWords.nobody}</p>
        ) : (
          <>
            <ReviewerFields reviewers={reviewers} signing={signing} onSigning={setSigning} />
            {failure !== null && !busy && <FailureBlock failure={failure} />}
            <Button lit submit disabled={!ready || busy}>
              {busy ? words.working : isVoid ? words.takeBack : words.makeVoid}
            </Button>
            {!ready && <p className="quiet">{words.needs}</p>}
          </>
        )}
      </form>
      {voidings.length > 0 && (
        <>
          <h3>{words.list}</h3>
          <ul className="review-list">
            {voidings.map(({ createdAt, decision, person, reason: why }) => (
              <li key={createdAt}>
                <b>{words.row(createdAt, decision, person)}</b>
                <span>{why}</span>
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}
