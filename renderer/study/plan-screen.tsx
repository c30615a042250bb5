import type { ReactElement } from 'react';
import { useEffect, useState } from 'react';
import type { Plan } from '../../src/bridge/contract.ts';
import type { PlanPreview } from '../../src/bridge/result.ts';
import type { Failure, Snapshot } from '../../src/bridge/snapshot.ts';
import { ageFormSchema } from '../../src/model/heart-by-age.ts';
import { trialReadiness } from '../rig/readiness.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { ChoiceField, TextField } from '../ui/field.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { planWords } from '../words/plan.ts';
import { rigWords } from '../words/rig.ts';
import { keptPlan } from './kept-plan.ts';
import { NewStudyForm } from './new-study-form.tsx';
import type { PlanDraft } from './plan-draft.ts';
import { firstPlanDraft, readPlanDraft, seriesKey } from './plan-draft.ts';
import { PlanPreviewPanel } from './plan-preview.tsx';
import './plan.css';

/** What the screen asks of the host and of the window. */
export interface PlanActions {
  readonly preview: (plan: Plan) => Promise<Outcome<PlanPreview>>;
  readonly prepare: (plan: Plan) => Promise<Outcome<unknown>>;
  readonly createStudy: (name: string) => Promise<Outcome<{ file: string }>>;
  readonly toRig: () => void;
  readonly toPerson: () => void;
  readonly toConsole: () => void;
  readonly toSeries: () => void;
  readonly instrumentName: (instrument: string) => string;
  /** Wall clock, ms since 1970. */
  readonly now: () => number;
}

/** After this long without a change a plan is previewed. */
const previewAfterMilliseconds = 250;

/** Study, subject, ensemble, series and limits, with the trial they make drawn beside them. */
export function PlanScreen(props: {
  readonly snapshot: Snapshot;
  /** Study to begin with, where the user came from one. */
  readonly file: string | null;
  readonly actions: PlanActions;
}): ReactElement {
  const { snapshot, actions } = props;
  const { rig } = snapshot.rig;
  const [draft, setDraft] = useState<PlanDraft>(() =>
    keptPlan.resume(firstPlanDraft(snapshot, props.file), snapshot.series.map(seriesKey)),
  );
  useEffect(() => {
    keptPlan.forget();
  }, []);
  const [shown, setShown] = useState(false);
  const [creating, setCreating] = useState(false);
  const { busy, failure, perform } = usePerform();
  const read = readPlanDraft(draft, rig);
  const { preview, refusal } = usePreview(read.plan, actions.preview);
  const { obstacles } = trialReadiness(snapshot, actions.now());
  const belt = rig === null || rig.heartRate !== null;
  const studies = snapshot.studies.filter((study) => study.failure === null);
  const field = <Name extends keyof PlanDraft>(name: Name) => {
    const problem = shown ? read.problems.get(name) : undefined;
    return {
      value: draft[name],
      onChange: (value: string) => {
        setDraft({ ...draft, [name]: value });
      },
      ...(problem === undefined ? {} : { problem }),
    };
  };
  const ensembles = studies.find((study) => study.file === draft.file)?.trials.map((trial) => trial.ensemble) ?? [];
  return (
    <main className="plan">
      <form
        className="panel plan-form"
        aria-label={planWords.title}
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          setShown(true);
          const { plan } = read;
          if (plan !== null && obstacles.length === 0) perform(() => actions.prepare(plan), actions.toConsole);
        }}
      >
        <h1>{planWords.title}</h1>
        <div className="plan-study">
          <ChoiceField
            {...field('file')}
            label={planWords.study}
            choices={[
              { value: '', text: planWords.chooseStudy },
              ...studies.map(({ file, name }) => ({ value: file, text: name })),
            ]}
          />
          {!creating && (
            <Button
              onPress={() => {
                setCreating(true);
              }}
            >
              {planWords.newStudy}
            </Button>
          )}
        </div>
        <div className="plan-two">
          <TextField {...field('subject')} label={planWords.subject} hint={planWords.subjectHint} autoFocus />
          <TextField
            {...field('ensemble')}
            label={planWords.ensemble}
            hint={planWords.ensembleHint}
            list={[...new Set(ensembles)]}
          />
        </div>
        <div className="plan-study">
          <ChoiceField
            {...field('series')}
            label={planWords.series}
            choices={[
              { value: '', text: planWords.chooseSeries },
              ...snapshot.series.map((one) => ({
                value: seriesKey(one),
                text: planWords.seriesChoice(one.name, one.version, one.exercises, one.durationSeconds),
              })),
            ]}
          />
          <Button
            onPress={() => {
              keptPlan.keep(draft);
              actions.toSeries();
            }}
          >
            {planWords.editSeries}
          </Button>
        </div>
        <div className="plan-three">
          <TextField
            {...field('heartRateLimit')}
            label={planWords.heartRateLimit}
            kind="number"
            unit={planWords.perMinute}
            hint={belt ? planWords.heartRateHint : planWords.heartRateNoBelt}
          />
          <TextField
            {...field('requirementPercent')}
            label={planWords.requirement}
            kind="number"
            unit={planWords.percent}
            hint={planWords.requirementHint}
          />
          <TextField
            {...field('orderOffset')}
            label={planWords.orderOffset}
            kind="number"
            hint={planWords.orderOffsetHint}
          />
        </div>
        {belt && (
          <fieldset className="plan-four">
            <legend className="spoken">{planWords.byAge}</legend>
            <TextField
              {...field('years')}
              label={planWords.years}
              kind="number"
              unit={planWords.yearsUnit}
              hint={planWords.yearsHint}
            />
            <ChoiceField
              {...field('form')}
              label={planWords.form}
              choices={[
                { value: '', text: planWords.chooseForm },
                ...ageFormSchema.options.map((form) => ({ value: form, text: planWords.forms[form] })),
              ]}
            />
            <TextField
              {...field('sharePercent')}
              label={planWords.share}
              kind="number"
              unit={planWords.percent}
              hint={planWords.shareHint}
            />
            <TextField
              {...field('sustainedMinutes')}
              label={planWords.sustained}
              kind="number"
              unit={planWords.sustainedUnit}
              hint={planWords.sustainedHint}
            />
            <p className="quiet">{planWords.byAgeText}</p>
          </fieldset>
        )}
        <Cautions virtual={rig?.virtual === true} />
        <div className="plan-foot" role="status">
          {failure !== null && <FailureBlock failure={failure} />}
          {obstacles.length > 0 && (
            <p>
              <b>{planWords.cannotPrepare}.</b>{' '}
              {obstacles.map((obstacle) => rigWords.obstacle(obstacle, actions.instrumentName)).join(' ')}
            </p>
          )}
          <div className="row">
            <Button submit lit={obstacles.length === 0} disabled={busy || obstacles.length > 0}>
              {planWords.prepare}
            </Button>
            {obstacles.some(({ kind }) => kind === 'nobody') && (
              <Button hotkey="W" lit={obstacles.length === 1} onPress={actions.toPerson}>
                {planWords.toPerson}
              </Button>
            )}
            {obstacles.some(({ kind }) => kind === 'trial-under-way') ? (
              <Button lit onPress={actions.toConsole}>
                {planWords.toConsole}
              </Button>
            ) : (
              obstacles.some(({ kind }) => kind !== 'nobody') && (
                <Button lit onPress={actions.toRig}>
                  {planWords.toRig}
                </Button>
              )
            )}
          </div>
          <p className="quiet">{planWords.prepareText}</p>
        </div>
      </form>
      <div className="plan-side">
        {creating && (
          <NewStudyForm
            create={actions.createStudy}
            onDone={(file) => {
              setCreating(false);
              setDraft({ ...draft, file });
            }}
            onCancel={() => {
              setCreating(false);
            }}
          />
        )}
        <PlanPreviewPanel preview={preview} refusal={refusal} rig={rig} />
      </div>
    </main>
  );
}

function Cautions({ virtual }: { readonly virtual: boolean }): ReactElement {
  return (
    <section className="plan-cautions" aria-label={planWords.cautions}>
      <h2>{planWords.cautions}</h2>
      <ul>
        {virtual && <li>{planWords.virtualCaution}</li>}
        {planWords.cautionLines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
    </section>
  );
}

/** What the host makes of a plan, a moment after it last changed; the preview of an older plan never stays. */
function usePreview(
  plan: Plan | null,
  ask: PlanActions['preview'],
): { readonly preview: PlanPreview | null; readonly refusal: Failure | null } {
  const [answer, setAnswer] = useState<{ readonly key: string; readonly outcome: Outcome<PlanPreview> } | null>(null);
  const key = plan === null ? '' : JSON.stringify(plan);
  useEffect(() => {
    if (plan === null) return;
    let over = false;
    const timer = setTimeout(() => {
      void ask(plan).then((outcome) => {
        if (!over) setAnswer({ key, outcome });
      });
    }, previewAfterMilliseconds);
    return () => {
      over = true;
      clearTimeout(timer);
    };
    // The key stands for the plan: an equal plan is no other one.
  }, [key, ask]);
  if (answer === null || answer.key !== key) return { preview: null, refusal: null };
  return answer.outcome.done
    ? { preview: answer.outcome.value, refusal: null }
    : { preview: null, refusal: answer.outcome.failure };
}
