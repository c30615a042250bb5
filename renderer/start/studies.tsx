import type { ReactElement } from 'react';
import { useState } from 'react';
import type { Snapshot, StudyRow, TrialRow } from '../../src/bridge/snapshot.ts';
import { NewStudyForm } from '../study/new-study-form.tsx';
import { Body } from '../ui/body.tsx';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { usePerform } from '../ui/use-perform.ts';
import { startWords } from '../words/start.ts';
import { studyWords } from '../words/study.ts';
import { dayOf } from '../words/times.ts';
import { voidWords } from '../words/void.ts';
import type { StartActions } from './start-actions.ts';
import { studiesInOrder } from './start-view.ts';

/** The studies of the host's folder, newest first, each with its trials as blocks. */
export function Studies(props: { readonly snapshot: Snapshot; readonly actions: StartActions }): ReactElement {
  const { snapshot, actions } = props;
  const [creating, setCreating] = useState(false);
  const { busy, failure, perform } = usePerform();
  return (
    <>
      <header className="studies-head">
        <h2>{startWords.studies}</h2>
        <div className="row">
          <Button
            small
            disabled={busy}
            onPress={() => {
              perform(actions.refresh);
            }}
          >
            {startWords.readAgain}
          </Button>
          <Button
            small
            hotkey="N"
            onPress={() => {
              setCreating(true);
            }}
          >
            {startWords.newStudy}
          </Button>
        </div>
      </header>
      {failure !== null && <FailureBlock failure={failure} />}
      {creating && (
        <NewStudyForm
          create={actions.createStudy}
          onDone={() => {
            setCreating(false);
          }}
          onCancel={() => {
            setCreating(false);
          }}
        />
      )}
      {snapshot.studies.length === 0 && !creating ? (
        <div className="studies-empty">
          <svg width="60" height="110" aria-hidden="true">
            <Body x={30} y={4} height={102} quiet />
          </svg>
          <div>
            <h3>{startWords.noStudiesTitle}</h3>
            <p>{startWords.noStudiesText}</p>
            <p className="quiet">{startWords.folder(snapshot.host.folder)}</p>
          </div>
        </div>
      ) : (
        <ul className="studies">
          {studiesInOrder(snapshot.studies).map((study) => (
            <li key={study.file}>
              {study.failure === null ? (
                <Study study={study} actions={actions} />
              ) : (
                <div className="study-damaged">
                  <b>{study.name}</b>
                  <FailureBlock failure={study.failure} />
                </div>
              )}
            </li>
          ))}
        </ul>
      )}
    </>
  );
}

function Study({ study, actions }: { readonly study: StudyRow; readonly actions: StartActions }): ReactElement {
  const { trials } = study;
  const unfinished = trials.filter(({ standing }) => standing === 'interrupted').length;
  const count = (of: (trial: TrialRow) => string): number => new Set(trials.map(of)).size;
  const newest = trials.reduce(
    (latest, { createdAt }) => (createdAt > latest ? createdAt : latest),
    study.createdAt ?? '',
  );
  return (
    <article className="study">
      <div className="study-name">
        <h3>{study.name}</h3>
        <p className="quiet">
          {trials.length === 0
            ? startWords.noTrials
            : startWords.ensembles(
                count(({ ensemble }) => ensemble),
                count(({ subject }) => subject),
              )}
          {trials.length > 0 && trials.every(({ virtual }) => virtual) && `, ${startWords.allVirtual}`}
        </p>
        {unfinished > 0 && <span className="flag">{startWords.left(unfinished)}</span>}
      </div>
      <div className="study-trials">
        {trials.length > 0 && (
          <ul className="blocks">
            {trials.map((trial) => (
              <li key={trial.trial}>
                <TrialBlock file={study.file} trial={trial} actions={actions} />
              </li>
            ))}
          </ul>
        )}
        {trials.length > 0 && (
          <p className="quiet">
            {startWords.trials(trials.length, trials.filter(({ voided }) => voided !== null).length)}
          </p>
        )}
      </div>
      <span className="study-day quiet">{newest === '' ? '' : dayOf(newest)}</span>
      <div className="study-do">
        <Button
          small
          label={studyWords.compareStudy(study.name)}
          disabled={trials.length === 0}
          onPress={() => {
            actions.toStudy(study.file);
          }}
        >
          {studyWords.compare}
        </Button>
        <Button
          small
          label={`${startWords.planTitle}: ${study.name}`}
          onPress={() => {
            actions.toPlan(study.file);
          }}
        >
          {startWords.planTitle}
        </Button>
      </div>
    </article>
  );
}

/** One trial: filled when it is assessed, outlined while it is not, with an amber edge when it was not finished. */
function TrialBlock(props: {
  readonly file: string;
  readonly trial: TrialRow;
  readonly actions: StartActions;
}): ReactElement {
  const { trial, actions } = props;
  const standing = startWords.standing[trial.standing];
  const cells = trial.cells === null ? '' : `, ${startWords.flaggedCells(trial.cells.flagged, trial.cells.all)}`;
  const voided = trial.voided === null ? '' : `, ${voidWords.short(trial.voided)}`;
  const label = startWords.trialLabel(trial.subject, trial.ensemble, `${standing}${cells}${voided}`);
  return (
    <button
      type="button"
      className={
        `block block-${trial.standing}${(trial.cells?.flagged ?? 0) > 0 ? ' block-flagged' : ''}` +
        (trial.voided === null ? '' : ' block-void')
      }
      aria-label={label}
      onClick={() => {
        if (trial.standing === 'under-way') actions.toConsole();
        else actions.toResult(props.file, trial.trial);
      }}
    />
  );
}
