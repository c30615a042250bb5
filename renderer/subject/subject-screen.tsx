import { useEffect, useRef, useState, type CSSProperties, type ReactElement } from 'react';
import { useStore } from 'zustand';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import type { Connection } from '../app/connection.ts';
import { FigurePicture } from '../figure/figure-picture.tsx';
import { HostTimeProvider } from '../trial/host-time-context.ts';
import { Ticking, TickingBar } from '../trial/ticking.tsx';
import { contactLost, sound, soundState } from '../ui/sound.ts';
import { VirtualTag } from '../ui/virtual-tag.tsx';
import { subjectWords } from '../words/subject.ts';
import { playCues, say } from './cue-sound.ts';
import { BeatRings, MovingFigure } from './moving-figure.tsx';
import { secondsLeft, subjectView, type SubjectView } from './subject-view.ts';
import './subject.css';

/** What the person in the ensemble sees: what to do, how long, what comes next, and the way to stop. */
export function SubjectScreen({ connection }: { readonly connection: Connection }): ReactElement {
  const snapshot = useStore(connection.state, (state) => state.snapshot);
  const trial = snapshot?.trial ?? null;
  const host = useStore(connection.state, (state) => state.host);
  const asleep = useStore(soundState, (state) => state.asleep);
  const view = subjectView(trial);
  const { time } = connection.samples;
  const latest = useRef(view);
  useEffect(() => {
    latest.current = view;
  });
  useEffect(() => playCues(() => latest.current, time), [time]);
  const spoken = view.kind === 'wait' ? '' : `${view.title}. ${view.how}`;
  useEffect(() => {
    if (spoken !== '') say(spoken);
  }, [spoken]);
  if (host === 'lost' || host === 'gone' || host === 'refused') return <Lost />;
  return (
    <HostTimeProvider value={time}>
      <main className={`subject subject-${view.kind}`} data-snapshot={snapshot?.version}>
        <div className="subject-top">
          <section className="subject-do panel">
            <h1 style={letters(view.title)}>{view.title}</h1>
            <p className="subject-how">{view.how}</p>
            <MovingFigure view={view} className="subject-figure" />
            {view.beat !== null && (
              <div className="subject-beat">
                <BeatRings view={view} className="subject-rings" />
                <span>{subjectWords.beats(view.beat.perMinute)}</span>
              </div>
            )}
            <p className="subject-silent" role="status">
              {asleep ? subjectWords.silent : ''}
            </p>
            {trial?.header.virtual === true && <VirtualTag />}
          </section>
          {(view.untilMicroseconds !== null || view.next !== null) && (
            <div className="subject-right">
              <Count view={view} />
              <Next view={view} />
            </div>
          )}
        </div>
        {trial !== null && <HowFar trial={trial} />}
        <StopMe connection={connection} trial={trial} mayStop={view.mayStop} />
      </main>
    </HostTimeProvider>
  );
}

function letters(text: string): CSSProperties {
  return { '--letters': Math.max(8, text.length) } as CSSProperties;
}

/** The seconds that are left; nothing where the end is not known. */
function Count({ view }: { readonly view: SubjectView }): ReactElement {
  const until = view.untilMicroseconds;
  if (until === null) return <section className="subject-count subject-count-none panel" />;
  return (
    <section className="subject-count">
      <p>{subjectWords.secondsLeft}</p>
      <Ticking
        className="subject-seconds"
        text={(at) => String(secondsLeft(until, at))}
        state={(at) => String(String(secondsLeft(until, at)).length)}
      />
    </section>
  );
}

function Next({ view }: { readonly view: SubjectView }): ReactElement {
  const { next } = view;
  return (
    <section className="subject-next panel">
      {next !== null && (
        <>
          <div>
            <p className="subject-label">{subjectWords.next}</p>
            <p className="subject-next-title" style={letters(next.title)}>
              {next.title}
            </p>
            <p className="subject-label">{next.more}</p>
          </div>
          {next.movement !== null && (
            <FigurePicture movement={next.movement} suit="panel" outline="ink2" className="subject-next-figure" />
          )}
        </>
      )}
    </section>
  );
}

/** One block for each exercise: done is sunk, now is lit with a bar that grows, to come is outlined. No numbers. */
function HowFar({ trial }: { readonly trial: TrialSnapshot }): ReactElement {
  const { now } = trial;
  const until = now.untilMicroseconds;
  const moving = now.kind === 'exercise' || now.kind === 'lead-in';
  return (
    <ol className="subject-far panel" aria-label={subjectWords.howFar}>
      {trial.exercises.map((exercise) => {
        const lit = exercise.state === 'now' && moving;
        const past = exercise.state === 'done' || exercise.state === 'skipped';
        return (
          <li
            key={exercise.exercise}
            className={`subject-block subject-block-${lit ? 'lit' : exercise.state}`}
            aria-current={exercise.state === 'now' ? 'step' : undefined}
          >
            <span className="unseen">{exercise.name}</span>
            {exercise.movement !== null && (
              <FigurePicture
                movement={exercise.movement}
                suit={lit ? 'lit' : past ? 'sunk' : 'panel'}
                outline={lit ? 'onlit' : past ? 'ink3' : 'ink'}
                className="subject-block-figure"
              />
            )}
            {lit && until !== null && (
              <TickingBar
                className="subject-so-far"
                share={(at) => 1 - (until - at) / (exercise.durationSeconds * 1e6)}
              />
            )}
          </li>
        );
      })}
    </ol>
  );
}

/** The whole width, always there, and the End key. It asks nothing and takes effect at once. */
function StopMe(props: {
  readonly connection: Connection;
  readonly trial: TrialSnapshot | null;
  readonly mayStop: boolean;
}): ReactElement {
  const { connection, mayStop } = props;
  const trial = props.trial?.trial ?? null;
  const [refused, setRefused] = useState(false);
  const stop = useRef(() => undefined as void);
  useEffect(() => {
    stop.current = () => {
      if (trial === null || !mayStop) return;
      const windowOffsetMilliseconds = connection.offsetMilliseconds();
      const asked = { trial, action: 'stop', note: '', exercise: null, windowOffsetMilliseconds } as const;
      void connection
        .ask((client) => client.trial.command(asked))
        .then((answer) => {
          setRefused(!answer.done);
        });
    };
  });
  useEffect(() => {
    const listen = (event: KeyboardEvent): void => {
      if (event.key !== 'End' || event.repeat) return;
      event.preventDefault();
      stop.current();
    };
    window.addEventListener('keydown', listen, { capture: true });
    return () => window.removeEventListener('keydown', listen, { capture: true });
  }, []);
  return (
    <button
      type="button"
      className="subject-stop"
      disabled={!mayStop}
      onPointerDown={() => stop.current()}
      onClick={(event) => {
        // A click without a pointer: the keyboard on the focused control.
        if (event.detail === 0) stop.current();
      }}
    >
      <svg viewBox="0 0 24 24" aria-hidden="true">
        <path fill="currentColor" d="M8 2.5h8L21.5 8v8L16 21.5H8L2.5 16V8Z" />
        <rect className="subject-stop-square" x="8" y="8" width="8" height="8" />
      </svg>
      {mayStop && <span>{subjectWords.stopMe}</span>}
      <small role="status">
        {refused ? subjectWords.stopRefused : mayStop ? subjectWords.stopHow : subjectWords.forHelp}
        <br />
        {mayStop && subjectWords.stopAnyTime}
      </small>
    </button>
  );
}

/** Without its host this display knows nothing: it says the one thing that is always right. */
function Lost(): ReactElement {
  useEffect(() => {
    say(subjectWords.lost);
    return sound(contactLost);
  }, []);
  return (
    <main className="subject subject-lost">
      <div role="alert">
        <h1>{subjectWords.lost}</h1>
        <p>{subjectWords.lostMore}</p>
      </div>
    </main>
  );
}
