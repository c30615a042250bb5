import type { ReactElement } from 'react';
import { useState } from 'react';
import type { TrialResult } from '../../src/bridge/result.ts';
import type { ReviewAsk } from '../../src/bridge/review.ts';
import { Button } from '../ui/button.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { reviewWords as words } from '../words/review.ts';
import type { AskDifference } from './difference-view.tsx';
import { AssessmentsView } from './difference-view.tsx';
import type { Place } from './result-view.ts';
import type { ReviewDraft } from './review-draft.ts';
import type { Reviewer } from './reviewer-fields.tsx';
import { ReviewForm } from './review-form.tsx';
import './review.css';

/** Beside trace and table while a trial is reviewed: a new assessment in one part, all of them in the other. */
export function ReviewPanel(props: {
  readonly result: TrialResult;
  readonly draft: ReviewDraft;
  readonly onDraft: (draft: ReviewDraft) => void;
  readonly reviewers: readonly Reviewer[];
  /** Code of who is at the rig. */
  readonly here: string | null;
  readonly review: (asked: ReviewAsk) => Promise<Outcome<unknown>>;
  readonly difference: AskDifference;
  readonly onChoose: (place: Place) => void;
  readonly onClose: () => void;
}): ReactElement {
  const [part, setPart] = useState<'anew' | 'compare'>('anew');
  const tab = (name: 'anew' | 'compare', text: string, key: string): ReactElement => (
    <Button small hotkey={key} pressed={part === name} onPress={() => setPart(name)}>
      {text}
    </Button>
  );
  return (
    <section className="panel cell-panel review-panel" tabIndex={0} aria-label={words.title}>
      <header>
        <h2>{words.title}</h2>
        <Button small hotkey="Esc" onPress={props.onClose}>
          {words.close}
        </Button>
      </header>
      <div className="review-parts" role="group" aria-label={words.parts}>
        {tab('anew', words.anew, 'N')}
        {tab('compare', words.compare, 'M')}
      </div>
      {part === 'anew' ? (
        <ReviewForm {...props} onDone={() => setPart('compare')} />
      ) : (
        <AssessmentsView result={props.result} difference={props.difference} onChoose={props.onChoose} />
      )}
    </section>
  );
}
