import type { ReactElement } from 'react';
import type { ExerciseView, TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { flagName } from '../words/result.ts';
import { minutesAndSeconds, trialTime } from '../words/times.ts';
import { trialWords } from '../words/trial.ts';
import { Ticking, TickingBar } from './ticking.tsx';
import { countdownText, countUpText, lastMarkText } from './trial-view.ts';

/** The whole series: done is sunk, doubt carries amber and its word, now is lit, to come is outlined. */
export function Timeline({ trial }: { readonly trial: TrialSnapshot }): ReactElement {
  const { endsAtMicroseconds } = trial;
  return (
    <section className="timeline panel" aria-label={trialWords.timeline}>
      <ol>
        {trial.exercises.map((exercise, index) => (
          <Block key={exercise.exercise} exercise={exercise} number={index + 1} trial={trial} />
        ))}
      </ol>
      <div className="timeline-foot">
        <span>
          {trialWords.elapsed} <Ticking text={(at) => countUpText(0, at)} />
        </span>
        <OperatorText trial={trial} />
        <span className="tl-mark" role="status">
          {lastMarkText(trial)}
        </span>
        {endsAtMicroseconds !== null && <span>{trialWords.endsAt(trialTime(endsAtMicroseconds))}</span>}
      </div>
    </section>
  );
}

/** What the series says to the operator about the exercise under way or next. */
function OperatorText({ trial }: { readonly trial: TrialSnapshot }): ReactElement | null {
  const text = trial.exercises.find(({ state }) => state === 'now')?.operatorText ?? null;
  if (text === null) return null;
  return (
    <b className="tl-operator">
      {trialWords.forYou} {text}
    </b>
  );
}

function Block(props: {
  readonly exercise: ExerciseView;
  readonly number: number;
  readonly trial: TrialSnapshot;
}): ReactElement {
  const { exercise, trial } = props;
  const until = trial.now.untilMicroseconds;
  const flag = exercise.flags[0];
  const share = exercise.durationSeconds;
  const longer = exercise.restLengthenedSeconds;
  const still = exercise.state === 'now' && trial.phase !== 'running';
  return (
    <>
      <li
        className={`tl-rest${exercise.state === 'to-come' ? '' : ' tl-past'}${longer > 0 ? ' tl-longer' : ''}`}
        style={{ flexGrow: exercise.restSeconds + longer }}
      >
        {longer > 0 && <span>+{minutesAndSeconds(longer)}</span>}
      </li>
      <li
        className={`tl-block tl-${exercise.state}${still ? ' tl-still' : ''}`}
        style={{ flexGrow: share }}
        aria-current={exercise.state === 'now' ? 'step' : undefined}
      >
        <b>
          {props.number} {exercise.name}
        </b>
        {exercise.state === 'now' && until !== null && trial.now.kind !== 'rest' ? (
          <>
            <Ticking text={(at) => trialWords.left(countdownText(until, at))} />
            {!still && <TickingBar className="tl-so-far" share={(at) => 1 - (until - at) / (share * 1e6)} />}
          </>
        ) : flag !== undefined ? (
          <span className="tl-flag">{flagName(flag)}</span>
        ) : (
          <span>
            {exercise.state === 'done'
              ? exercise.attempts > 1
                ? trialWords.repeated(exercise.attempts)
                : trialWords.done
              : exercise.state === 'skipped'
                ? trialWords.skipped
                : minutesAndSeconds(exercise.durationSeconds)}
          </span>
        )}
      </li>
    </>
  );
}
