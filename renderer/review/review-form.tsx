import type { ReactElement } from 'react';
import { useState } from 'react';
import type { TrialResult } from '../../src/bridge/result.ts';
import type { ReviewAsk } from '../../src/bridge/review.ts';
import type { LeftOut } from '../../src/leakage/left-out.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { ChoiceField, TextField } from '../ui/field.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { reviewWords as words } from '../words/review.ts';
import type { ChosenMethod } from './method-choice.tsx';
import { MethodChoice } from './method-choice.tsx';
import { isReason, reasonProblem } from './reason.ts';
import type { ReviewDraft } from './review-draft.ts';
import { typedStretch } from './review-draft.ts';
import type { Reviewer } from './reviewer-fields.tsx';
import { ReviewerFields, useSigning } from './reviewer-fields.tsx';

const everyPort = 'every-port';

/** What is left out, by which method, why and by whom: asked for at once, kept as a new assessment. */
export function ReviewForm(props: {
  readonly result: TrialResult;
  readonly draft: ReviewDraft;
  readonly onDraft: (draft: ReviewDraft) => void;
  readonly reviewers: readonly Reviewer[];
  readonly here: string | null;
  readonly review: (asked: ReviewAsk) => Promise<Outcome<unknown>>;
  readonly onDone: () => void;
}): ReactElement {
  const { draft, here, onDraft, result, reviewers } = props;
  const { busy, failure, perform } = usePerform();
  const [signing, setSigning] = useSigning(reviewers, here);
  // Undefined: one of a file is wanted, and there is none yet.
  const [method, setMethod] = useState<ChosenMethod | undefined>(null);
  const [tried, setTried] = useState(false);
  const typed = typedStretch(draft);
  const problems = tried && !('stretch' in typed) ? typed : {};
  const labelOf = (probe: string | null): string | null =>
    result.rig.ports.find((port) => port.probe === probe)?.label ?? probe;
  const add = (): void => {
    setTried(!('stretch' in typed));
    if ('stretch' in typed) onDraft({ ...draft, leftOut: [...draft.leftOut, typed.stretch], from: '', to: '' });
  };
  // A stretch that is typed and not yet added would be passed over in silence.
  const open = draft.from.trim() !== '' || draft.to.trim() !== '';
  const named = isReason(draft.reason) && signing.pin !== '' && signing.person !== '';
  const ready = named && !open && method !== undefined;
  const missing = open ? words.needsStretch : method === undefined ? words.needsMethod : words.needs;
  const ask = (): void => {
    if (method === undefined) return;
    const asked = { method, ...signing, reason: draft.reason.trim() };
    perform(() => props.review({ ...asked, leftOut: [...draft.leftOut] }), props.onDone);
  };
  return (
    <form
      className="review-form"
      aria-label={words.anew}
      onSubmit={(event) => {
        event.preventDefault();
        if (ready && !busy) ask();
      }}
    >
      <p className="quiet">{words.dragHint}</p>
      <div
        className="review-pair"
        onKeyDown={(event) => {
          if (event.key !== 'Enter' || !(event.target instanceof HTMLInputElement)) return;
          event.preventDefault();
          add();
        }}
      >
        <TextField
          label={words.from}
          kind="number"
          unit={words.seconds}
          value={draft.from}
          problem={'from' in problems ? problems.from : undefined}
          onChange={(from) => onDraft({ ...draft, from })}
        />
        <TextField
          label={words.to}
          kind="number"
          unit={words.seconds}
          value={draft.to}
          problem={'to' in problems ? problems.to : undefined}
          onChange={(to) => onDraft({ ...draft, to })}
        />
        <ChoiceField
          label={words.time}
          value={draft.time}
          choices={(['arrival', 'probe'] as const).map((value) => ({ value, text: words.times[value] }))}
          onChange={(time) => onDraft({ ...draft, time })}
        />
        <ChoiceField
          label={words.probe}
          value={draft.probe ?? everyPort}
          choices={[
            { value: everyPort, text: words.everyDwell },
            ...result.rig.ports.map(({ label, probe }) => ({ value: probe, text: label })),
          ]}
          onChange={(probe) => onDraft({ ...draft, probe: probe === everyPort ? null : probe })}
        />
      </div>
      <TextField
        label={words.why}
        hint={words.whyHint}
        value={draft.reason}
        problem={'reason' in problems ? problems.reason : reasonProblem(draft.reason)}
        onChange={(reason) => onDraft({ ...draft, reason })}
      />
      <Button onPress={add}>{words.add}</Button>
      <h3>{words.leftOut}</h3>
      <Stretches
        leftOut={draft.leftOut}
        labelOf={labelOf}
        onRemove={(index) => onDraft({ ...draft, leftOut: draft.leftOut.filter((_, place) => place !== index) })}
      />
      <MethodChoice onChange={setMethod} />
      {reviewers.length === 0 ? (
        <p className="flag">{words.nobody}</p>
      ) : (
        <>
          <ReviewerFields reviewers={reviewers} signing={signing} onSigning={setSigning} />
          {failure !== null && !busy && <FailureBlock failure={failure} />}
          <Button lit submit disabled={!ready || busy}>
            {busy ? words.assessing : words.assess}
          </Button>
          <p className="quiet">{ready ? words.beside : missing}</p>
        </>
      )}
    </form>
  );
}

function Stretches(props: {
  readonly leftOut: readonly LeftOut[];
  readonly labelOf: (probe: string | null) => string | null;
  readonly onRemove: (index: number) => void;
}): ReactElement {
  if (props.leftOut.length === 0) return <p className="quiet">{words.nothing}</p>;
  return (
    <ul className="review-stretches">
      {props.leftOut.map((one, index) => (
        <li key={index}>
          <div>
            <b>{words.stretch(one)}</b>
            <span>{words.stretchOf(one.time, props.labelOf(one.probe))}</span>
            <span>{one.reason}</span>
          </div>
          <Button small label={words.removeLabel(words.stretch(one))} onPress={() => props.onRemove(index)}>
            {words.remove}
          </Button>
        </li>
      ))}
    </ul>
  );
}
