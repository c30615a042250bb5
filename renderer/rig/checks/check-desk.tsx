import type { ReactElement } from 'react';
import { useCallback, useEffect, useRef, useState } from 'react';
import type { RunningCheckState } from '../../../src/bridge/checks.ts';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import { checkDefinitions } from '../../../src/calibration/check/definitions.ts';
import type { CheckStanding, KeptCheck } from '../../../src/calibration/check/standing.ts';
import type { CheckCondition, CheckKind } from '../../../src/calibration/check/vocabulary.ts';
import type { Rig } from '../../../src/model/rig.ts';
import { Button } from '../../ui/button.tsx';
import { ChoiceField, TextField } from '../../ui/field.tsx';
import { FailureBlock } from '../../ui/failure-block.tsx';
import { readNumber } from '../../ui/read-number.ts';
import { usePerform } from '../../ui/use-perform.ts';
import { checkWords } from '../../words/checks.ts';
import { readingText } from '../../words/numbers.ts';
import type { LiveReadings, RigActions } from '../rig-actions.ts';
import { AskForm } from './ask-form.tsx';
import { Verdict } from './check-list.tsx';
import type { Chosen } from './desk-state.ts';
import { partsOf } from './desk-state.ts';
import { Found } from './found.tsx';
import { RecordChart } from './record-chart.tsx';

type Ground = Extract<Awaited<ReturnType<RigActions['checkGround']>>, { done: true }>['value']['ground'];

/** One check: its steps, what the photometer reads meanwhile, what was found, and what was found before. */
export function CheckDesk(props: {
  readonly snapshot: Snapshot;
  readonly rig: Rig;
  /** What is looked at. */
  readonly standing: CheckStanding;
  readonly standings: readonly CheckStanding[];
  readonly actions: RigActions;
  readonly live: LiveReadings;
  readonly onChoose: (chosen: Chosen) => void;
  readonly onBack: () => void;
}): ReactElement {
  const { actions, rig, snapshot, standing, standings } = props;
  const { check, subject } = standing;
  const lines = standings.filter((one) => one.check === check);
  const { failure: stopped, running } = snapshot.rig.checks;
  const mine = running?.check === check && running.subject === subject ? running : null;
  const newest = standing.newest?.number ?? null;
  const { history, shown, ground, show } = useHistory(actions, standing, newest);
  const { busy, failure, perform } = usePerform();
  const label = (of: string | null): string => rig.ports.find(({ probe }) => probe === of)?.label ?? '';
  const title = `${checkWords.name(check)}${subject === null ? '' : `, ${label(subject)}`}`;
  const definition = checkDefinitions[check];
  const live = (instrument: string): boolean =>
    snapshot.rig.instruments.some((one) => one.instrument === instrument && one.state === 'live');
  const allowed = snapshot.trial === null && snapshot.person !== null && definition.needs(rig).every(live);
  const steps = mine?.steps ?? definition.steps(rig, subject, { readSeconds: 10 });
  return (
    <main className="rig desk">
      <section className="panel desk-steps" aria-label={checkWords.steps} tabIndex={0}>
        <Button small hotkey="Esc" onPress={props.onBack}>
          {checkWords.back}
        </Button>
        <h1>{title}</h1>
        <p className="quiet">{checkWords.text(check)}</p>
        {definition.usesChallenge && <p className="desk-caution">{checkWords.challengeAir}</p>}
        {lines.length > 1 && (
          <ul className="desk-lines" aria-label={checkWords.lines}>
            {lines.map((line) => (
              <li key={line.subject}>
                <button
                  type="button"
                  className="desk-line"
                  aria-pressed={line.subject === subject}
                  disabled={mine !== null}
                  onClick={() => {
                    props.onChoose({ check: line.check, subject: line.subject });
                  }}
                >
                  {label(line.subject)}
                  <Verdict standing={line.standing} />
                </button>
              </li>
            ))}
          </ul>
        )}
        <Parts steps={steps} running={mine} />
      </section>
      <section className="panel desk-middle" aria-label={title}>
        {failure !== null && <FailureBlock failure={failure} />}
        {mine === null && stopped !== null && <FailureBlock failure={stopped} />}
        {mine === null ? (
          <Recorded shown={shown} ground={ground} title={title}>
            <Live check={check} running={null} snapshot={snapshot} rig={rig} live={props.live} />
          </Recorded>
        ) : (
          <Live
            check={check}
            running={mine}
            snapshot={snapshot}
            rig={rig}
            live={props.live}
            busy={busy}
            onAnswer={(answers) => {
              perform(() => actions.answerCheck(answers));
            }}
          />
        )}
      </section>
      <Found standing={standing} shown={shown} history={history} onShow={show} />
      <footer className="desk-hands">
        {mine === null ? (
          <Begin
            key={`${check} ${subject ?? ''} ${newest ?? ''}`}
            standing={standing}
            allowed={allowed && running === null && !busy}
            onBegin={(condition, validDays) => {
              perform(() => actions.beginCheck({ check, subject, condition, validDays }));
            }}
          />
        ) : (
          <>
            <Button
              hotkey="X"
              disabled={busy}
              onPress={() => {
                perform(actions.cancelCheck);
              }}
            >
              {checkWords.end}
            </Button>
            <progress
              value={mine.secondsInAll > 0 ? Math.min(1, Math.max(0, 1 - mine.secondsLeft / mine.secondsInAll)) : 0}
              max={1}
              aria-label={checkWords.minutesLeft(mine.secondsLeft)}
            />
            <span className="desk-left">{checkWords.minutesLeft(mine.secondsLeft)}</span>
          </>
        )}
      </footer>
    </main>
  );
}

/** The parts of a check; the one under way is lit, and kept in sight. */
function Parts(props: {
  readonly steps: RunningCheckState['steps'];
  readonly running: RunningCheckState | null;
}): ReactElement {
  const { running, steps } = props;
  const now = useRef<HTMLLIElement>(null);
  useEffect(() => {
    now.current?.scrollIntoView({ block: 'nearest' });
  }, [running?.at]);
  return (
    <ol className="desk-parts">
      {partsOf(steps, running?.at ?? 0).map(({ part, state }, index) => {
        const isNow = running !== null && state === 'now';
        return (
          <li
            key={`${part} ${index}`}
            ref={isNow ? now : undefined}
            className={running === null ? 'part' : `part part-${state}`}
          >
            <span>{checkWords.stepName(part)}</span>
            {isNow && <b>{doingOf(running)}</b>}
          </li>
        );
      })}
    </ol>
  );
}

function doingOf({ at, stepSeconds, steps }: RunningCheckState): string {
  const step = steps[at];
  return step === undefined ? '' : `${checkWords.doing[step.step]} ${Math.floor(stepSeconds)} s`;
}

/** What is read now, and what is asked. */
function Live(props: {
  readonly check: CheckKind;
  readonly running: RunningCheckState | null;
  readonly snapshot: Snapshot;
  readonly rig: Rig;
  readonly live: LiveReadings;
  readonly busy?: boolean;
  readonly onAnswer?: Parameters<typeof AskForm>[0]['onAnswer'];
}): ReactElement {
  const { live, onAnswer, rig, running, snapshot } = props;
  const { streams } = snapshot.rig;
  const photometer = streams.findIndex(
    ({ instrument, stream }) => instrument === rig.photometer && stream === rig.photometerStream,
  );
  const belt = streams.findIndex(({ instrument }) => instrument === rig.heartRate);
  const wanted = props.check === 'belt' ? belt : photometer;
  const stream = streams[wanted];
  const newest = live.newest(wanted);
  const step = running?.steps[running.at];
  const doing =
    running === null
      ? checkWords.readsNow
      : step === undefined
        ? checkWords.judging
        : `${checkWords.stepName(step.part)}: ${checkWords.doing[step.step]}`;
  return (
    <>
      <header className="desk-now">
        <h2>
          <span role="status">{doing}</span>
        </h2>
        <b className="desk-reading">{newest === null ? '–' : readingText(stream, newest)}</b>
      </header>
      <div className="desk-signal">{wanted >= 0 && live.signal(wanted, checkWords.live(stream?.instrument ?? ''))}</div>
      {step?.step === 'ask' && onAnswer !== undefined && (
        <AskForm
          key={running?.at}
          step={step}
          port={rig.ports.find(({ probe }) => probe === step.probe)?.label ?? ''}
          unit={streams[photometer]?.unit ?? null}
          virtual={snapshot.rig.virtualRig !== null}
          busy={props.busy === true}
          onAnswer={onAnswer}
        />
      )}
    </>
  );
}

function Recorded(props: {
  readonly shown: KeptCheck | null;
  readonly ground: Ground | undefined;
  readonly title: string;
  /** What is there while nothing was recorded. */
  readonly children: ReactElement;
}): ReactElement {
  const { ground, shown } = props;
  if (shown === null) return props.children;
  return (
    <>
      <h2>{checkWords.recordOf(props.title)}</h2>
      {ground === null && <p className="quiet">{checkWords.noRecord}</p>}
      {ground != null && <RecordChart record={ground.record} rig={ground.rig} result={shown.result} />}
    </>
  );
}

/** In which state the rig is, and how long a pass is to hold. */
function Begin(props: {
  readonly standing: CheckStanding;
  readonly allowed: boolean;
  readonly onBegin: (condition: CheckCondition, validDays: number) => void;
}): ReactElement {
  const { standing } = props;
  // Whoever has just seen it fail comes back with a repaired rig.
  const [condition, setCondition] = useState<CheckCondition>(standing.standing === 'failed' ? 'as-left' : 'routine');
  const usual = standing.newest?.result.validDays ?? checkDefinitions[standing.check].validDays;
  const [days, setDays] = useState(String(usual));
  const [wrong, setWrong] = useState(false);
  return (
    <>
      <ChoiceField
        label={checkWords.condition}
        value={condition}
        choices={(['routine', 'as-found', 'as-left'] as const).map((value) => ({
          value,
          text: checkWords.conditions[value],
        }))}
        onChange={setCondition}
      />
      <TextField
        label={checkWords.validDays}
        kind="number"
        unit={checkWords.days}
        value={days}
        problem={wrong ? { kind: 'least', limit: 0, inclusive: false } : undefined}
        onChange={setDays}
      />
      <p className="quiet desk-hint">{props.allowed ? checkWords.conditionHint : checkWords.wait}</p>
      <Button
        lit
        hotkey="G"
        disabled={!props.allowed}
        onPress={() => {
          const validDays = readNumber(days);
          const good = validDays !== null && validDays > 0 && validDays <= 3660;
          setWrong(!good);
          if (good) props.onBegin(condition, validDays);
        }}
      >
        {checkWords.begin}
      </Button>
    </>
  );
}

/** Earlier checks of what is chosen, read again when a newer one is there, and what the shown one was judged on. */
function useHistory(
  actions: RigActions,
  chosen: Chosen,
  newest: number | null,
): {
  readonly history: readonly KeptCheck[];
  readonly shown: KeptCheck | null;
  readonly ground: Ground | undefined;
  readonly show: (number: number) => void;
} {
  const [history, setHistory] = useState<readonly KeptCheck[]>([]);
  const [picked, setPicked] = useState<number | null>(null);
  const [read, setRead] = useState<{ readonly number: number; readonly ground: Ground } | null>(null);
  const { check, subject } = chosen;
  const { checkGround, checkHistory } = actions;
  useEffect(() => {
    let here = true;
    setPicked(null);
    void checkHistory({ check, subject }).then((outcome) => {
      if (here) setHistory(outcome.done ? outcome.value : []);
    });
    return () => {
      here = false;
    };
  }, [check, checkHistory, newest, subject]);
  const shown = history.find(({ number }) => number === picked) ?? history[0] ?? null;
  const number = shown?.number ?? null;
  useEffect(() => {
    let here = true;
    if (number !== null) {
      void checkGround(number).then((outcome) => {
        if (here) setRead({ number, ground: outcome.done ? outcome.value.ground : null });
      });
    }
    return () => {
      here = false;
    };
  }, [checkGround, number]);
  const show = useCallback((next: number) => {
    setPicked(next);
  }, []);
  return { history, shown, ground: read !== null && read.number === number ? read.ground : undefined, show };
}
