import { useCallback, useState, type ReactElement } from 'react';
import type { StudyView, WhatIfAsked } from '../../src/bridge/study.ts';
import { ReportBox, type SaveReport } from '../review/report-box.tsx';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { usePerform, type Outcome } from '../ui/use-perform.ts';
import { VirtualTag } from '../ui/virtual-tag.tsx';
import { studyWords } from '../words/study.ts';
import { whatIfWords } from '../words/what-if.ts';
import { CompareChart } from './compare-chart.tsx';
import { CompareRoster } from './compare-roster.tsx';
import { CompareSide } from './compare-side.tsx';
import { PrecisionCurve } from './precision-curve.tsx';
import { useWhatIf } from './use-what-if.ts';
import { isVirtualStudy } from './virtual-study.ts';
import { WhatIfPanel } from './what-if-panel.tsx';
import './study.css';

/** What the screen asks of the host and of the window. */
export interface StudyActions {
  readonly readAgain: () => Promise<Outcome<unknown>>;
  readonly whatIf: (asked: WhatIfAsked) => Promise<Outcome<StudyView>>;
  readonly saveReport: SaveReport;
  readonly toTrial: (trial: string) => void;
  readonly toPlan: () => void;
}

/** A study over its trials: what it says in one sentence, every trial as a point, and the list of them. */
export function StudyScreen(props: { readonly view: StudyView; readonly actions: StudyActions }): ReactElement {
  const { view: standing, actions } = props;
  const whatIf = useWhatIf(standing, actions.whatIf);
  const { toggle, view } = whatIf;
  const isAsking = whatIf.asked !== null;
  const { summary } = view;
  const [chosen, setChosen] = useState<string | null>(null);
  const { busy, failure, perform } = usePerform();
  const { toTrial } = actions;
  const open = useCallback((trial: string) => toTrial(trial), [toTrial]);
  const canLeaveOut = useCallback(
    (trial: string) => {
      const row = summary.roster.find((one) => one.trial === trial);
      if (row?.leftOut === null || row?.leftOut === 'what-if') toggle(trial);
    },
    [summary, toggle],
  );
  const press = isAsking ? canLeaveOut : open;
  const highest = highestTrial(standing);
  const isVirtual = isVirtualStudy(standing);
  return (
    <main className={isAsking ? 'compare compare-what-if' : 'compare'}>
      <section className="panel compare-head">
        <h1>{view.name}</h1>
        {isVirtual && <VirtualTag />}
        <span className="quiet">{studyWords.counts(standing.summary.counts)}</span>
        <span className="grow" />
        {!isAsking && summary.counts.counted > 0 && (
          <Button small hotkey="I" onPress={whatIf.begin}>
            {whatIfWords.begin}
          </Button>
        )}
        {!isAsking && highest !== null && (
          <Button small lit hotkey="W" onPress={() => open(highest)}>
            {studyWords.worst}
          </Button>
        )}
        {!isAsking && <ReportBox save={actions.saveReport} />}
        {!isAsking && (
          <Button small disabled={busy} onPress={() => perform(actions.readAgain)}>
            {studyWords.readAgain}
          </Button>
        )}
      </section>
      {isAsking && <WhatIfPanel standing={standing} state={whatIf} />}
      {failure !== null && <FailureBlock failure={failure} />}
      <div className="compare-body">
        {standing.summary.counts.counted === 0 ? (
          <section className="panel compare-nothing">
            <h2>{studyWords.nothingTitle}</h2>
            <p>{studyWords.nothingText}</p>
            <Button onPress={actions.toPlan}>{studyWords.plan}</Button>
          </section>
        ) : (
          <section className="panel compare-picture">
            {!isAsking && <Statement view={view} />}
            <p className="compare-chosen quiet" role="status">
              <ChosenText view={view} chosen={chosen} isAsking={isAsking} />
            </p>
            <CompareChart
              view={view}
              standing={view === standing ? null : standing}
              chosen={chosen}
              onChoose={setChosen}
              onOpen={press}
            />
            <PrecisionCurve view={view} />
          </section>
        )}
        <CompareSide view={view} />
      </div>
      <CompareRoster view={view} isAsking={isAsking} chosen={chosen} onChoose={setChosen} onOpen={press} />
    </main>
  );
}

/** One sentence for each ensemble against the first, over the whole trial. */
function Statement({ view: { summary } }: { readonly view: StudyView }): ReactElement {
  const [first = ''] = summary.ensembles;
  const ratios = (summary.scopes[0]?.ratios ?? []).filter(({ lower }) => lower === first);
  if (ratios.length === 0) return <p className="compare-statement">{studyWords.oneEnsemble(first)}</p>;
  return (
    <ul className="compare-statement">
      {ratios.map(({ upper, ratio }) => (
        <li key={upper}>
          {ratio.known ? (
            <>
              <b>{studyWords.statement(ratio.figure, summary.questions.confidence)}</b>{' '}
              <span className="quiet">{studyWords.pairsOf(ratio.figure)}</span>
            </>
          ) : (
            studyWords.noRatio(ratio.because)
          )}
        </li>
      ))}
    </ul>
  );
}

function ChosenText(props: {
  readonly view: StudyView;
  readonly chosen: string | null;
  readonly isAsking: boolean;
}): ReactElement {
  const { view, chosen, isAsking } = props;
  const row = chosen === null ? undefined : view.summary.roster.find(({ trial }) => trial === chosen);
  if (row === undefined) return <>{isAsking ? whatIfWords.point : studyWords.chooseTrial}</>;
  const leakage = `${studyWords.leakage(row.whole)} %`;
  return (
    <>
      <b>{studyWords.chosen(row.subject, row.ensemble, leakage)}</b>
      {row.cellsFlagged > 0 && `, ${studyWords.flaggedCells(row.cellsFlagged, row.cells)}`}
      {row.doubtfulChecks.length > 0 && `, ${studyWords.checks(row.doubtfulChecks)}`}
      {row.review !== null && `, ${studyWords.reviewed(row.review)}`}
      {row.releasedBy !== null && `, ${studyWords.released(row.releasedBy)}`}
    </>
  );
}

/** The trial in the figures with the highest leakage over the whole; null where none was above its limit. */
function highestTrial({ summary }: StudyView): string | null {
  let highest: { readonly trial: string; readonly percent: number } | null = null;
  for (const { trial, leftOut, whole } of summary.roster) {
    if (leftOut !== null || whole === null || whole.below) continue;
    if (highest === null || whole.percent > highest.percent) highest = { trial, percent: whole.percent };
  }
  return highest?.trial ?? null;
}
