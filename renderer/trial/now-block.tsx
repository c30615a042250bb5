import type { CSSProperties, ReactElement } from 'react';
import { useStore } from 'zustand';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import type { Rig } from '../../src/model/rig.ts';
import { routes } from '../app/routes.ts';
import { Key } from '../ui/key.tsx';
import { ProbeMark } from '../ui/probe-mark.tsx';
import { afterWords } from '../words/after.ts';
import { beforeWords } from '../words/before.ts';
import { trialWords } from '../words/trial.ts';
import type { TrialCommands } from './commands.ts';
import { consoleState } from './console-state.ts';
import { Ticking } from './ticking.tsx';
import { countdownText, countUpText, exerciseName, headlineOf, portNow } from './trial-view.ts';

/** What now, how long, and whether this air counts: the one lit place of the console. A frame when nothing runs. */
export function NowBlock(props: {
  readonly trial: TrialSnapshot;
  readonly rig: Rig | null;
  /** What this headline is among those of its screen. */
  readonly heading?: 'h1' | 'h2';
}): ReactElement {
  const { trial, rig, heading: Heading = 'h1' } = props;
  const { now } = trial;
  const { above, title } = headlineOf(trial);
  const port = portNow(trial, rig);
  const still = ['prepared', 'held', 'stopped', 'closed'].includes(now.kind);
  const until = now.untilMicroseconds;
  // A hold breaks the dwell on a probe: it begins again.
  const probe = now.exercise !== null && port?.role === 'probe';
  const air = now.kind === 'held' && probe ? trialWords.notCounted : trialWords.air(now.air);
  return (
    <section className={`now-block now-${now.kind}${still ? ' now-still' : ''}`} aria-label={title}>
      <div className="now-words">
        <div className="now-above">{above}</div>
        <Heading className="now-title" style={letters(title.length)}>
          {title}
        </Heading>
        {now.kind === 'stopped' ? (
          <div className="now-advice">{trialWords.stoppedAct}</div>
        ) : (
          port !== null &&
          now.kind !== 'closed' && (
            <div className="now-port" style={letters(port.label.length + air.length)}>
              <div className="now-air">
                <ProbeMark probe={port.probe} size={40} lit={!still} />
                <b>{port.label}</b>
                <span>{air}</span>
              </div>
              {!still && <Turns trial={trial} />}
            </div>
          )
        )}
      </div>
      {now.kind === 'prepared' && (
        <p className="now-caution">
          {trialWords.startCaution} {trialWords.fanCaution}
        </p>
      )}
      {until !== null ? (
        <Ticking className="countdown" text={(at) => countdownText(until, at)} />
      ) : now.kind === 'held' || now.kind === 'waiting' ? (
        <>
          <span className="now-count-what">{now.kind === 'held' ? trialWords.heldFor : trialWords.waitingFor}</span>
          <Ticking className="countdown count-up" text={(at) => countUpText(now.sinceMicroseconds, at)} />
        </>
      ) : null}
    </section>
  );
}

/** How long a headline is, for the style that makes it fit. React's types know no custom properties. */
function letters(count: number): CSSProperties {
  return { '--letters': Math.max(1, count) } as CSSProperties;
}

/** The probes of this exercise in the order in which they are visited: done, now, to come. */
function Turns({ trial }: { readonly trial: TrialSnapshot }): ReactElement | null {
  const { exercise } = trial.now;
  if (exercise === null) return null;
  const attempt = Math.max(0, ...trial.dwells.filter((one) => one.exercise === exercise).map((one) => one.attempt));
  const begun = trial.dwells.filter(
    (one) => one.exercise === exercise && one.attempt === attempt && one.purpose === 'probe',
  );
  const planned = trial.planned.filter((one) => one.exercise === exercise && one.purpose === 'probe');
  if (begun.length + planned.length === 0) return null;
  return (
    <span className="turns" aria-hidden="true">
      {begun.map((one) => (
        <i key={one.dwell} className={one.endedAtMicroseconds === null ? 'turn turn-now' : 'turn turn-done'}>
          <ProbeMark probe={one.probe} size={15} lit={one.endedAtMicroseconds === null} />
        </i>
      ))}
      {planned.map((one) => (
        <i key={one.fromMicroseconds} className="turn">
          <ProbeMark probe={one.probe} size={15} lit />
        </i>
      ))}
    </span>
  );
}

/** What comes after, or how to go on. */
export function NextBlock(props: {
  readonly trial: TrialSnapshot;
  /** Nobody has said that they are at the rig: most of what comes next needs a name. */
  readonly nobody?: boolean;
  /** Left out where nothing can be commanded. */
  readonly commands?: TrialCommands;
}): ReactElement {
  const { trial, commands } = props;
  const armed = useStore(consoleState, (state) => state.armed);
  const armedExercise = useStore(consoleState, (state) => state.armedExercise);
  const enter = (
    <button type="button" className="next-enter" onClick={commands?.enter}>
      <Key>Enter</Key>
    </button>
  );
  if (armed === 'repeat' || armed === 'skip') {
    const word = armed === 'repeat' ? trialWords.repeat : trialWords.skip;
    return (
      <section className="next-block panel">
        <div className="label">{`${word} ${exerciseName(trial, armedExercise)}`.trim()}</div>
        <div className="next-keys" role="status">
          <b>{trialWords.pressEnter}</b> {enter}
        </div>
        <div className="next-more">{trialWords.armed}</div>
      </section>
    );
  }
  if (props.nobody === true && trial.phase !== 'running' && trial.phase !== 'closed') {
    return (
      <section className="next-block panel">
        <div className="label">{trialWords.next}</div>
        <div className="ending-title">
          <a href={`#${routes.person}`}>{trialWords.sayWho}</a>
        </div>
        <div className="next-more" role="status">
          {trialWords.nobody[trial.phase]}
        </div>
      </section>
    );
  }
  const { subjectStop } = trial;
  const stands = trial.phase === 'prepared' || trial.phase === 'held';
  if (stands && subjectStop !== 'none' && subjectStop !== 'armed') {
    return (
      <section className="next-block panel">
        <div className="label">{trial.phase === 'prepared' ? trialWords.startTitle : trialWords.goOnTitle}</div>
        <div className="ending-title">{trialWords.subjectStop[subjectStop]}</div>
        <div className="next-more" role="status">
          {trialWords.stopBars[subjectStop]}
        </div>
      </section>
    );
  }
  const open = trial.header.virtual ? 0 : trial.before.filter(({ answer }) => answer === null).length;
  if (open > 0) {
    return <OpenItems label={trialWords.startTitle} first={beforeWords.first(open)} more={beforeWords.firstMore} />;
  }
  const starting = trial.phase === 'prepared';
  if (starting || trial.phase === 'held') {
    const word = starting ? trialWords.start : trialWords.goOn;
    return (
      <section className="next-block panel">
        <div className="label">{starting ? trialWords.startTitle : trialWords.goOnTitle}</div>
        <div className="next-keys" role="status">
          {armed === null ? (
            <>
              <Key>Space</Key> <span>{trialWords.goOnHow}</span> <Key>Enter</Key> <b>{word}</b>
            </>
          ) : (
            <>
              <b>{trialWords.pressEnter}</b> {enter}
            </>
          )}
        </div>
        <div className="next-more">{armed === null ? trialWords.subjectReady : trialWords.armed}</div>
      </section>
    );
  }
  const openAfter = trial.after.filter(({ answer }) => answer === null).length;
  if (trial.afterHolds && openAfter > 0) {
    return <OpenItems label={afterWords.title} first={afterWords.first(openAfter)} more={afterWords.firstMore} />;
  }
  if (trial.phase === 'stopped') {
    return (
      <section className="next-block panel">
        <div className="label">{trialWords.next}</div>
        <div className="ending-title">{trialWords.close}</div>
        <div className="next-more">{trialWords.closeMore}</div>
      </section>
    );
  }
  const { next } = trial;
  const index = trial.exercises.findIndex(({ exercise }) => exercise === next.exercise);
  const named = trial.exercises[index];
  const title =
    next.kind === 'exercise' ? (named?.name ?? '') : next.kind === 'end' ? trialWords.end : trialWords.stage(next.kind);
  const time = next.seconds === null ? null : countdownText(next.seconds * 1e6, 0);
  const after = next.kind === 'rest' ? named : undefined;
  // What is followed by nothing in words has its time below it, and the whole width for its name.
  return (
    <section className="next-block panel">
      <div className="label">{trialWords.next}</div>
      <div className="next-title" style={letters(title.length + (after === undefined ? 0 : 7))}>
        <span>{title}</span>
        {after !== undefined && time !== null && <small>{time}</small>}
      </div>
      {after === undefined ? (
        <div className="next-long">{time}</div>
      ) : (
        <div className="next-more">
          {trialWords.then} <b>{after.name}</b> {countdownText(after.durationSeconds * 1e6, 0)}
        </div>
      )}
    </section>
  );
}

/** What has to be answered first, before a trial or after it. */
function OpenItems({ first, label, more }: { readonly first: string; readonly label: string; readonly more: string }) {
  return (
    <section className="next-block panel">
      <div className="label">{label}</div>
      <div className="ending-title">{first}</div>
      <div className="next-more" role="status">
        {more}
      </div>
    </section>
  );
}
