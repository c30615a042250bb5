import type { ReactElement } from 'react';
import { useMemo, useReducer, useRef, useState } from 'react';
import type { ScatterAnswer } from '../../src/bridge/scatter.ts';
import { methodForRig } from '../../src/leakage/method-for-rig.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { Series } from '../../src/model/series.ts';
import { foldedName, sameSeries } from '../../src/series/own-series.ts';
import { remarkWords } from '../../src/series/remark-words.ts';
import type { FieldProblem } from '../ui/field-problem.ts';
import { LongField, TextField } from '../ui/field.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { useLeaveGuard } from '../ui/use-leave-guard.ts';
import { usePerform } from '../ui/use-perform.ts';
import { seriesWords } from '../words/series.ts';
import { minutesAndSeconds } from '../words/times.ts';
import { AroundForm } from './around-form.tsx';
import { ExerciseForm } from './exercise-form.tsx';
import { ExerciseRows } from './exercise-rows.tsx';
import { PromisePanel } from './promise-panel.tsx';
import { changeSeries, readSeriesDraft, sameFields, versionAskedFor } from './series-draft.ts';
import type { SeriesDraft } from './series-draft.ts';
import { SeriesFoot } from './series-foot.tsx';
import { SeriesLine } from './series-line.tsx';
import { timeSeries } from './series-timing.ts';
import type { SeriesTiming } from './series-timing.ts';

/** A series as fields, drawn in time while it is changed; problems stand beside the field they are about. */
export function SeriesEditor(props: {
  readonly begin: SeriesDraft;
  /** Newest of each name that the laboratory keeps. */
  readonly kept: ReadonlyMap<string, Series>;
  /** Names of the program's series, folded. */
  readonly templates: ReadonlySet<string>;
  readonly rig: Rig | null;
  /** Null: it is being read. */
  readonly scatter: Outcome<ScatterAnswer | null> | null;
  /** @param newest version that the laboratory had of that name when it was opened here, 0: none. */
  readonly save: (series: Series, newest: number) => Promise<Outcome<{ version: number }>>;
  readonly onExport: (series: Series) => void;
  readonly onPlan: (series: Series) => void;
  readonly onBack: () => void;
}): ReactElement {
  const { rig, templates } = props;
  const [draft, change] = useReducer(changeSeries, props.begin);
  const [shown, setShown] = useState(false);
  const [saved, setSaved] = useState(false);
  // As it was when this was opened, and what was kept from here: what others keep meanwhile is not seen.
  const [seen, setSeen] = useState(props.kept);
  const [begun, setBegun] = useState(props.begin);
  const { busy, failure, perform } = usePerform();
  const form = useRef<HTMLFormElement>(null);
  const read = useMemo(() => withTaken(readSeriesDraft(draft), draft.name, templates), [draft, templates]);
  const { timing, current } = useLastTiming(read.series, rig);
  const listed = seen.get(draft.name.trim()) ?? null;
  const version = read.series === null ? (listed?.version ?? 0) + 1 : versionAskedFor(draft, read.series, listed);
  const unchanged = isKept(draft, read.series, listed);
  const guard = useLeaveGuard(!sameFields(draft, begun));
  const exercise = draft.exercises[draft.chosen];
  const problems = shown ? read.problems : withoutEmpty(read.problems);
  const wrong = new Set(exercisesOf(problems));
  const submit = (): void => {
    setShown(true);
    const { series } = read;
    if (series === null) {
      const [first] = exercisesOf(read.problems);
      if (first !== undefined && !hasOwnProblem(read.problems, draft.chosen)) {
        change({ change: 'choose', index: first });
      }
      // The first field that keeps it from being saved is where the work is.
      requestAnimationFrame(() => form.current?.querySelector<HTMLElement>('[aria-invalid]')?.focus());
      return;
    }
    perform(async () => {
      const outcome = await props.save({ ...series, version }, listed?.version ?? 0);
      if (outcome.done) {
        const now = { ...series, version: outcome.value.version };
        setSaved(true);
        setSeen((before) => new Map(before).set(now.name, now));
        // Of what is typed while it is on its way nothing is replaced.
        setBegun(draft);
        change({ change: 'kept', series: now });
      }
      return outcome;
    });
  };
  return (
    <form
      ref={form}
      className="series-editor"
      noValidate
      aria-label={seriesWords.form}
      onSubmit={(event) => {
        event.preventDefault();
        submit();
      }}
      onKeyDown={(event) => {
        // A version is for ever: it takes the button or its key, not the end of a line.
        if (event.key === 'Enter' && event.target instanceof HTMLInputElement) event.preventDefault();
      }}
    >
      <div className="series-parts" tabIndex={0} role="group" aria-label={seriesWords.form}>
        <section className="panel series-top">
          <div className="series-names">
            <h1 className="spoken">{seriesWords.form}</h1>
            <TextField
              label={seriesWords.name}
              value={draft.name}
              {...problemAt(problems, 'name')}
              onChange={(value) => change({ change: 'text', field: 'name', value })}
            />
            <LongField
              label={seriesWords.source}
              rows={1}
              value={draft.source}
              {...problemAt(problems, 'source')}
              onChange={(value) => change({ change: 'text', field: 'source', value })}
            />
          </div>
          <Sums timing={timing} count={draft.exercises.length} current={current} />
          {timing !== null && (
            <SeriesLine
              timing={timing}
              chosen={draft.chosen}
              onChoose={(index) => change({ change: 'choose', index })}
            />
          )}
        </section>
        <div className="series-columns">
          <div className="series-column">
            <ExerciseRows draft={draft} timing={timing} rig={rig} wrong={wrong} onChange={change} />
            <section className="panel series-remarks" aria-label={seriesWords.remarks} role="status">
              <h2>{seriesWords.remarks}</h2>
              {!current && <p>{seriesWords.incomplete}</p>}
              {current && timing !== null && <Remarks timing={timing} />}
              <p className="quiet">
                {rig === null
                  ? seriesWords.noRig
                  : seriesWords.rigLine(rig.name, rig.version, methodForRig(rig).name)}
              </p>
            </section>
            {rig !== null && timing !== null && <PromisePanel timing={timing} rig={rig} scatter={props.scatter} />}
          </div>
          <div className="series-column">
            {exercise !== undefined && (
              <ExerciseForm
                key={exercise.key}
                draft={draft}
                exercise={exercise}
                problems={problems}
                onChange={change}
              />
            )}
            <AroundForm draft={draft} rig={rig} series={read.series} problems={problems} onChange={change} />
          </div>
        </div>
      </div>
      <SeriesFoot
        guard={guard}
        problems={shown ? read.problems.size : 0}
        failure={failure}
        busy={busy}
        kept={unchanged ? listed : null}
        justKept={unchanged && saved}
        version={version}
        onBack={props.onBack}
        onExport={props.onExport}
        onPlan={props.onPlan}
        onSave={submitForm(form)}
      />
    </form>
  );
}

/** Whether the laboratory's newest of the name is what the fields say. A file with a later version is kept as that. */
function isKept(draft: SeriesDraft, series: Series | null, listed: Series | null): boolean {
  if (series === null || listed === null || !sameSeries(series, listed)) return false;
  return !draft.imported || draft.base.version <= listed.version;
}

function Sums(props: {
  readonly timing: SeriesTiming | null;
  readonly count: number;
  readonly current: boolean;
}): ReactElement {
  const { timing } = props;
  return (
    <div className={`plan-sums series-sums${props.current ? '' : ' series-old'}`}>
      {timing !== null && (
        <>
          <p>
            <b>{minutesAndSeconds(timing.totalSeconds)}</b> {seriesWords.total}
          </p>
          <p>
            <b>{minutesAndSeconds(timing.insideSeconds)}</b> {seriesWords.inside}
          </p>
        </>
      )}
      {timing?.leastUsableSeconds != null && (
        <p>
          <b>{seriesWords.seconds(timing.leastUsableSeconds)}</b> {seriesWords.leastUsable}
        </p>
      )}
      {timing !== null && timing.remarks.length > 0 && (
        <p>
          <b>{timing.remarks.length}</b> {seriesWords.toKnow}
        </p>
      )}
    </div>
  );
}

function Remarks({ timing }: { readonly timing: SeriesTiming }): ReactElement {
  if (timing.remarks.length === 0) return <p>{seriesWords.noRemarks}</p>;
  return (
    <ul>
      {timing.remarks.map((remark) => {
        const words = remarkWords(remark);
        return <li key={words}>{words}</li>;
      })}
    </ul>
  );
}

/** The timing of the series; of what it was before where a field is wrong, so that the drawing does not flicker. */
function useLastTiming(
  series: Series | null,
  rig: Rig | null,
): { readonly timing: SeriesTiming | null; readonly current: boolean } {
  const last = useRef<SeriesTiming | null>(null);
  const timing = useMemo(() => (series === null ? null : timeSeries(series, rig)), [series, rig]);
  if (timing !== null) last.current = timing;
  return { timing: timing ?? last.current, current: timing !== null };
}

/** Indices of exercises with a field that is wrong. */
function exercisesOf(problems: ReadonlyMap<string, FieldProblem>): number[] {
  return [...problems.keys()].flatMap((path) => {
    const index = /^exercises\.(\d+)\./.exec(path)?.[1];
    return index === undefined ? [] : [Number(index)];
  });
}

/** A key does what pressing the button does: the form is submitted once. */
function submitForm(form: { readonly current: HTMLFormElement | null }): () => void {
  return () => {
    if (document.activeElement?.matches('[type=submit]') !== true) form.current?.requestSubmit();
  };
}

function problemAt(problems: ReadonlyMap<string, FieldProblem>, path: string): { problem?: FieldProblem } {
  const problem = problems.get(path);
  return problem === undefined ? {} : { problem };
}

/** What is not filled in yet is no reproach before somebody wants to save. */
function withoutEmpty(problems: ReadonlyMap<string, FieldProblem>): ReadonlyMap<string, FieldProblem> {
  return new Map([...problems].filter(([, { kind }]) => kind !== 'empty'));
}

function hasOwnProblem(problems: ReadonlyMap<string, FieldProblem>, chosen: number): boolean {
  return [...problems.keys()].some((path) => !path.startsWith('exercises.') || path.startsWith(`exercises.${chosen}.`));
}

/** A series under the name of a template would look like it. */
function withTaken(
  read: ReturnType<typeof readSeriesDraft>,
  name: string,
  templates: ReadonlySet<string>,
): ReturnType<typeof readSeriesDraft> {
  if (!templates.has(foldedName(name))) return read;
  const problems = new Map(read.problems).set('name', { kind: 'said', text: seriesWords.nameTaken });
  return { series: null, problems };
}
