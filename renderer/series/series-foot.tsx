import type { ReactElement } from 'react';
import { useEffect, useRef } from 'react';
import type { Failure } from '../../src/bridge/snapshot.ts';
import type { Series } from '../../src/model/series.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { LeaveGuard } from '../ui/use-leave-guard.ts';
import { seriesWords } from '../words/series.ts';

/** Below the editor: what keeps it from being saved, and the hands; or the question before what is changed is left. */
export function SeriesFoot(props: {
  readonly guard: LeaveGuard;
  /** How many fields are wrong, where somebody wanted to save; otherwise 0. */
  readonly problems: number;
  readonly failure: Failure | null;
  readonly busy: boolean;
  /** The kept series, where the fields say the same; null: something is changed. */
  readonly kept: Series | null;
  /** It was kept just now. */
  readonly justKept: boolean;
  /** Under which it would be kept. */
  readonly version: number;
  readonly onBack: () => void;
  readonly onExport: (series: Series) => void;
  readonly onPlan: (series: Series) => void;
  readonly onSave: () => void;
}): ReactElement {
  const { busy, failure, guard, kept } = props;
  if (guard.asking) return <LeaveQuestion guard={guard} />;
  return (
    <footer className="panel editor-foot">
      <div className="grow" role="alert">
        {props.problems > 0 && <p className="field-problem">{seriesWords.problems(props.problems)}</p>}
        {failure !== null && <FailureBlock failure={failure} />}
        {kept !== null && (
          <p>{(props.justKept ? seriesWords.saved : seriesWords.unchanged)(kept.name, kept.version)}</p>
        )}
        {kept === null && props.problems === 0 && failure === null && (
          <p className="quiet">{seriesWords.exportReason}</p>
        )}
      </div>
      <Button hotkey="Esc" onPress={() => guard.attempt(props.onBack)}>
        {seriesWords.back}
      </Button>
      <Button
        hotkey="E"
        disabled={kept === null}
        onPress={() => {
          if (kept !== null) props.onExport(kept);
        }}
      >
        {seriesWords.exportFile}
      </Button>
      {kept !== null && props.justKept ? (
        <Button
          lit
          hotkey="P"
          onPress={() => {
            props.onPlan(kept);
          }}
        >
          {seriesWords.plan}
        </Button>
      ) : (
        <Button submit hotkey="S" lit={kept === null} disabled={busy || kept !== null} onPress={props.onSave}>
          {busy ? seriesWords.saving : seriesWords.save(props.version)}
        </Button>
      )}
    </footer>
  );
}

/** Takes the focus, so that its keys are no text in a field, and gives it back. */
function LeaveQuestion({ guard }: { readonly guard: LeaveGuard }): ReactElement {
  const question = useRef<HTMLParagraphElement>(null);
  useEffect(() => {
    const before = document.activeElement;
    question.current?.focus();
    return () => {
      if (before instanceof HTMLElement) before.focus();
    };
  }, []);
  return (
    <footer className="panel editor-foot">
      <p ref={question} className="grow" role="alert" tabIndex={-1}>
        {seriesWords.leaving}
      </p>
      <Button hotkey="L" onPress={guard.leave}>
        {seriesWords.leave}
      </Button>
      <Button lit hotkey="Esc" onPress={guard.stay}>
        {seriesWords.stay}
      </Button>
    </footer>
  );
}
