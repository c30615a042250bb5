import type { ReactElement, ReactNode } from 'react';
import { useState } from 'react';
import { doubtfulSupports } from '../../src/model/doubtful-supports.ts';
import type { CellExplanation, TrialResult } from '../../src/bridge/result.ts';
import type { ReviewAsk, SignAsk, VoidAsk } from '../../src/bridge/review.ts';
import type { PersonView } from '../../src/bridge/snapshot.ts';
import { followSignatures } from '../../src/model/signature.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { Icon } from '../ui/icon.tsx';
import { VirtualTag } from '../ui/virtual-tag.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { replayWords } from '../words/replay.ts';
import { resultWords } from '../words/result.ts';
import { reviewWords } from '../words/review.ts';
import { signWords } from '../words/sign.ts';
import { voidWords } from '../words/void.ts';
import { CellPanel } from './cell-panel.tsx';
import { RepeatButtons, RepeatLinks } from './repeat-buttons.tsx';
import { ReportBox, type SaveReport } from './report-box.tsx';
import { ResultTableView } from './result-table.tsx';
import type { AskDifference } from './difference-view.tsx';
import type { Place } from './result-view.ts';
import { firstPlace, flaggedPlaces, nextFlagged, resultTable } from './result-view.ts';
import type { ReviewDraft } from './review-draft.ts';
import { beginReview, pendingStretch, withDragged } from './review-draft.ts';
import { ReviewPanel } from './review-panel.tsx';
import { SignPanel } from './sign-panel.tsx';
import { VoidPanel } from './void-panel.tsx';
import type { TraceShown } from './trace-shown.ts';
import './result.css';

/** What the screen asks of the host and of the window. */
export interface ResultActions {
  readonly assess: () => Promise<Outcome<unknown>>;
  readonly explain: (place: Place) => Promise<Outcome<CellExplanation>>;
  readonly saveReport: SaveReport;
  /** A new assessment as a reviewer wants it; the result is read again when it is there. */
  readonly review: (asked: ReviewAsk) => Promise<Outcome<unknown>>;
  readonly difference: AskDifference;
  /** Makes it void, or takes that back; the result is read again when it is kept. */
  readonly decide: (asked: VoidAsk) => Promise<Outcome<unknown>>;
  /** One more signature; the result is read again when it is kept. */
  readonly sign: (asked: SignAsk) => Promise<Outcome<unknown>>;
  /** Plays the trial back on the console. */
  readonly replay: () => Promise<Outcome<unknown>>;
  /** Prepares it anew; the console is shown then. */
  readonly repeat: (from: string | null) => Promise<Outcome<unknown>>;
  readonly toTrial: (trial: string) => void;
  readonly toStart: () => void;
  /** All trials of the study together. */
  readonly toStudy: () => void;
}

/** A recorded trial: the whole of it over time, the table of cells, and one cell explained, linked by what is lit. */
export function ResultScreen(props: {
  readonly result: TrialResult;
  readonly actions: ResultActions;
  /** Everybody registered. */
  readonly people: readonly PersonView[];
  /** Code of who is at the rig. */
  readonly here: string | null;
  /** The trace of the whole trial. */
  readonly trace: (shown: TraceShown) => ReactNode;
}): ReactElement {
  const { result, actions } = props;
  const [draft, setDraft] = useState<ReviewDraft | null>(null);
  const [open, setOpen] = useState<'void' | 'sign' | null>(null);
  const reviewers = props.people.filter(({ roles }) => roles.includes('reviewer'));
  const isFree = draft === null && open === null;
  const table = resultTable(result);
  const [chosen, setChosen] = useState<Place | null>(null);
  const place = chosen ?? (table === null ? null : firstPlace(table));
  const doubtful = doubtfulSupports(result.header);
  const flagged = table === null ? 0 : flaggedPlaces(table).length;
  const pending = draft === null ? null : pendingStretch(draft);
  const leftOut = draft === null ? (result.assessment?.leftOut ?? []) : draft.leftOut;
  return (
    <main className="result">
      <ResultHead result={result} actions={actions} />
      <div className="result-body">
        <div className="result-left">
          <section className="panel result-trace" aria-label={resultWords.trace}>
            <header>
              <h2>{resultWords.trace}</h2>
              {result.sealed !== null && <ReplayButton replay={actions.replay} />}
              {table !== null && flagged > 0 && (
                <Button
                  small
                  hotkey="F"
                  onPress={() => {
                    setChosen(nextFlagged(table, place));
                  }}
                >
                  {resultWords.nextFlag}
                </Button>
              )}
              {table !== null && flagged === 0 && <span className="quiet">{resultWords.noFlags}</span>}
              {table !== null && result.sealed !== null && isFree && (
                <Button small hotkey="R" onPress={() => setDraft(beginReview(result.assessment?.leftOut ?? []))}>
                  {reviewWords.open}
                </Button>
              )}
              {result.sealed !== null && result.assessments.length > 0 && isFree && (
                <Button small hotkey="S" onPress={() => setOpen('sign')}>
                  {signWords.open}
                </Button>
              )}
              {result.sealed !== null && isFree && (
                <Button small hotkey="V" onPress={() => setOpen('void')}>
                  {voidWords.open}
                </Button>
              )}
              {isFree && <RepeatButtons result={result} repeat={actions.repeat} />}
              {doubtful.length > 0 && <span className="flag">{resultWords.checksNotValid(doubtful)}</span>}
              {result.stopped !== null && <span className="flag">{resultWords.stopped(result.stopped)}</span>}
              {result.after?.answers
                .filter(({ found }) => found)
                .map(({ title, word, note }) => (
                  <span key={title} className="flag">
                    {resultWords.found(title, word, note)}
                  </span>
                ))}
              {result.after !== null && result.after.open > 0 && (
                <span className="flag">{resultWords.openAfter(result.after.open)}</span>
              )}
              {result.gaps.length > 0 && <span className="flag">{resultWords.gaps(result.gaps.length)}</span>}
            </header>
            {props.trace({
              place,
              onChoose: setChosen,
              leftOut: pending === null ? leftOut : [...leftOut, pending],
              onStretch: draft === null ? null : (from, to) => setDraft(withDragged(draft, from, to)),
            })}
          </section>
          {table !== null && (
            <section className="panel result-cells">
              <ResultTableView table={table} chosen={place} onChoose={setChosen} />
            </section>
          )}
        </div>
        {open === 'sign' ? (
          <SignPanel
            result={result}
            people={props.people}
            here={props.here}
            sign={actions.sign}
            onClose={() => setOpen(null)}
          />
        ) : open === 'void' ? (
          <VoidPanel
            voidings={result.voidings}
            reviewers={reviewers}
            here={props.here}
            decide={actions.decide}
            onClose={() => setOpen(null)}
          />
        ) : table === null || place === null ? (
          <NotAssessed result={result} actions={actions} />
        ) : draft !== null ? (
          <ReviewPanel
            result={result}
            draft={draft}
            onDraft={setDraft}
            reviewers={reviewers}
            here={props.here}
            review={actions.review}
            difference={actions.difference}
            onChoose={setChosen}
            onClose={() => setDraft(null)}
          />
        ) : (
          <CellPanel result={result} table={table} place={place} explain={actions.explain} />
        )}
      </div>
    </main>
  );
}

function ReplayButton({ replay }: { readonly replay: ResultActions['replay'] }): ReactElement {
  const { busy, failure, perform } = usePerform();
  return (
    <>
      <Button small hotkey="P" disabled={busy} onPress={() => perform(replay)}>
        {replayWords.open}
      </Button>
      {failure !== null && <FailureBlock failure={failure} />}
    </>
  );
}

/** Which trial this is, by what it was assessed, and whether it is sealed. */
function ResultHead(props: { readonly result: TrialResult; readonly actions: ResultActions }): ReactElement {
  const { result, actions } = props;
  const { header, sealed, assessment } = result;
  const voided = result.voidings.at(-1);
  return (
    <section className="panel result-head">
      <h1>{resultWords.ofTrial(header.subject, header.ensemble)}</h1>
      <Button small label={resultWords.compareStudy} onPress={actions.toStudy}>
        {resultWords.study}
      </Button>
      {header.virtual && <VirtualTag />}
      {voided?.decision === 'void' && (
        <span className="result-void">
          <b>{voidWords.mark}</b> {voidWords.by(voided.person, voided.reason)}
        </span>
      )}
      <span className="quiet">{resultWords.recorded(result.createdAt, header.operator)}</span>
      {assessment !== null && (
        <span className="quiet">
          {resultWords.method(assessment.methodName, assessment.methodVersion)},{' '}
          {resultWords.assessed(assessment.createdAt, assessment.program)}
        </span>
      )}
      {assessment !== null && assessment.review !== null && (
        <span className="flag result-reviewed">
          {reviewWords.chosenBy(assessment.review.person, assessment.review.reason, assessment.leftOut.length)}
        </span>
      )}
      {assessment !== null && result.sealed !== null && <SignedState result={result} />}
      <RepeatLinks result={result} toTrial={actions.toTrial} />
      <span className="grow" />
      {sealed !== null && assessment !== null && <ReportBox save={actions.saveReport} />}
      {sealed === null ? (
        <span className="flag">{resultWords.notSealed}</span>
      ) : (
        <span className="result-seal">
          <Icon name="lock" /> {resultWords.sealed(sealed.at)}
          <span className="quiet">{resultWords.sealedHead(sealed.count)}</span>
          <code className="wire">{sealed.head.slice(0, 16)}</code>
        </span>
      )}
    </section>
  );
}

/** How far the assessment that counts is signed. */
function SignedState({ result }: { readonly result: TrialResult }): ReactElement {
  const { assessments } = followSignatures(result.signatures);
  const last = assessments.get(result.assessment?.assessment ?? '')?.standing.at(-1) ?? null;
  if (last === null) return <span className="quiet">{signWords.unsigned}</span>;
  return <span className="result-signed">{signWords.standing(last, last.rehearsal)}</span>;
}

function NotAssessed(props: { readonly result: TrialResult; readonly actions: ResultActions }): ReactElement {
  const { busy, failure, perform } = usePerform();
  const closed = props.result.sealed !== null;
  return (
    <section className="panel cell-panel" aria-label={resultWords.notAssessedTitle}>
      <h2>{resultWords.notAssessedTitle}</h2>
      <p>{resultWords.notAssessedText(closed ? 'closed' : 'open')}</p>
      {failure !== null && <FailureBlock failure={failure} />}
      {closed ? (
        <Button
          lit
          disabled={busy}
          onPress={() => {
            perform(props.actions.assess);
          }}
        >
          {busy ? resultWords.assessing : resultWords.assess}
        </Button>
      ) : (
        <Button lit onPress={props.actions.toStart}>
          {resultWords.backToStart}
        </Button>
      )}
    </section>
  );
}
