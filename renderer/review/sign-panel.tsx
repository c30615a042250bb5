import type { ReactElement } from 'react';
import { useState } from 'react';
import type { TrialResult } from '../../src/bridge/result.ts';
import type { SignAsk, SignatureRow } from '../../src/bridge/review.ts';
import { followSignatures, refuseSigning, unsigned } from '../../src/model/signature.ts';
import type { SignatureStep } from '../../src/model/signature.ts';
import type { PersonView } from '../../src/bridge/snapshot.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { ChoiceField, TextField } from '../ui/field.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { signWords as words } from '../words/sign.ts';
import './review.css';
import { isReason, reasonProblem } from './reason.ts';

const forward = ['assessed', 'reviewed', 'released'] as const;

/** Who signed an assessment as what, and the one next step; a PIN and a reason for each. The host decides. */
export function SignPanel(props: {
  readonly result: TrialResult;
  readonly people: readonly PersonView[];
  /** Code of who is at the rig. */
  readonly here: string | null;
  readonly sign: (asked: SignAsk) => Promise<Outcome<unknown>>;
  readonly onClose: () => void;
}): ReactElement {
  const { people, result } = props;
  // What is signed is what is on screen, unless somebody chooses otherwise.
  const onScreen = result.assessment?.assessment ?? '';
  const [chosen, setChosen] = useState(onScreen);
  const [isBack, setBack] = useState(false);
  const { assessments, released } = followSignatures(result.signatures);
  const state = assessments.get(chosen) ?? unsigned;
  const next = forward[state.standing.length] ?? null;
  const isVoid = result.voidings.at(-1)?.decision === 'void';
  const mayForward = next !== null && !isVoid;
  const mayBack = state.standing.length > 0;
  const step: SignatureStep | null = mayBack && (isBack || !mayForward) ? 'withdrawn' : mayForward ? next : null;
  const able = people.filter(({ roles }) => step === 'assessed' || roles.includes('reviewer'));
  const own = result.signatures.filter(({ assessment }) => assessment === chosen);
  const chosenBy = result.assessments.find(({ assessment }) => assessment === chosen)?.review?.person ?? null;
  return (
    <section className="panel cell-panel review-panel" tabIndex={0} aria-label={words.title}>
      <header>
        <h2>{words.title}</h2>
        <Button small hotkey="Esc" onPress={props.onClose}>
          {words.close}
        </Button>
      </header>
      {result.assessments.length > 1 && (
        <ChoiceField
          label={words.which}
          value={chosen}
          choices={[...result.assessments].reverse().map(({ assessment, createdAt, position }) => ({
            value: assessment,
            text: words.choice(position, createdAt, assessment === result.assessment?.assessment),
          }))}
          onChange={(other) => {
            setChosen(other);
            setBack(false);
          }}
        />
      )}
      {chosen !== onScreen && <p className="flag">{words.notOnScreen(placeOf(result, onScreen))}</p>}
      <ol className="sign-steps">
        {forward.map((name, index) => (
          <Step key={name} name={name} stands={state.standing[index] ?? null} isNext={name === next} />
        ))}
      </ol>
      {released !== null && released.assessment !== chosen && (
        <p className="quiet">{words.otherReleased(released.person)}</p>
      )}
      {result.header.virtual && <p className="flag">{words.virtual}</p>}
      {isVoid && <p className="flag">{words.isVoid}</p>}
      {mayBack && mayForward && (
        <div className="review-parts" role="group" aria-label={words.parts}>
          <Button small pressed={!isBack} onPress={() => setBack(false)}>
            {words.forward(next)}
          </Button>
          <Button small pressed={isBack} onPress={() => setBack(true)}>
            {words.back}
          </Button>
        </div>
      )}
      {step !== null && (
        <SignForm
          key={`${chosen} ${step} ${own.length}`}
          step={step}
          people={able}
          here={props.here}
          withKey={step === 'released' && !result.header.virtual}
          refusalOf={(person) => refuseSigning(state, { step, person }, chosenBy)}
          then={step === 'withdrawn' && released?.assessment === chosen ? thenCounts(result) : null}
          sign={(asked) => props.sign({ ...asked, assessment: chosen, after: state.standing.at(-1)?.number ?? null })}
          onDone={() => setBack(false)}
        />
      )}
      <p className="quiet">{words.notProven}</p>
      {own.length > 0 && (
        <>
          <h3>{words.list}</h3>
          <ul className="review-list">
            {own.map((one) => (
              <li key={one.number}>
                <b>{words.row(one)}</b>
                <span>{one.reason}</span>
                {one.fingerprint !== null && <code className="wire">{words.byKey(one.fingerprint)}</code>}
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}

/** Place of an assessment among those of its trial, from 1; 0 where it is not there. */
function placeOf(result: TrialResult, assessment: string): number {
  return result.assessments.findIndex((one) => one.assessment === assessment) + 1;
}

/** What the result of the trial is once its release is taken back: the newest assessment, signed or not. */
function thenCounts(result: TrialResult): string {
  const newest = result.assessments.at(-1)?.assessment ?? '';
  const { standing } = followSignatures(result.signatures).assessments.get(newest) ?? unsigned;
  const left = standing.filter(({ step }) => step !== 'released').at(-1);
  return words.thenCounts(result.assessments.length, left === undefined ? words.unsigned : words.standing(left, false));
}

function Step(props: {
  readonly name: (typeof forward)[number];
  readonly stands: SignatureRow | null;
  readonly isNext: boolean;
}): ReactElement {
  const { isNext, name, stands } = props;
  return (
    <li aria-current={isNext ? 'step' : undefined} className={stands === null ? undefined : 'stands'}>
      <b>{words.steps[name]}</b>
      <span>{stands === null ? words.notYet : words.stands(stands)}</span>
    </li>
  );
}

function SignForm(props: {
  readonly step: SignatureStep;
  readonly people: readonly PersonView[];
  readonly here: string | null;
  readonly withKey: boolean;
  readonly refusalOf: (person: string) => { readonly what: string; readonly remedy: string } | null;
  /** What follows of taking it back; null: nothing else. */
  readonly then: string | null;
  readonly sign: (asked: Omit<SignAsk, 'assessment' | 'after'>) => Promise<Outcome<unknown>>;
  readonly onDone: () => void;
}): ReactElement {
  const { people, step } = props;
  const { busy, failure, perform } = usePerform();
  const first = people.find(({ code }) => code === props.here)?.code ?? people[0]?.code ?? '';
  const [person, setPerson] = useState(first);
  const [pin, setPin] = useState('');
  const [reason, setReason] = useState('');
  if (people.length === 0) return <p className="flag">{words.nobody}</p>;
  const refused = props.refusalOf(person);
  const given = isReason(reason) && pin !== '';
  const ready = given && refused === null && !busy;
  return (
    <form
      className="review-form"
      aria-label={words.sign(step)}
      onSubmit={(event) => {
        event.preventDefault();
        if (ready) perform(() => props.sign({ step, person, pin, reason: reason.trim() }), props.onDone);
      }}
    >
      <p className="quiet">
        {words.what[step]}
        {props.withKey && ` ${words.withKey}`}
      </p>
      {props.then !== null && <p className="flag">{props.then}</p>}
      <div className="review-pair">
        <ChoiceField
          label={words.person}
          value={person}
          choices={people.map(({ code, name }) => ({ value: code, text: `${code}, ${name}` }))}
          onChange={setPerson}
        />
        <TextField label={words.pin} kind="secret" value={pin} onChange={setPin} />
      </div>
      {refused !== null && (
        <p className="flag" role="status">
          {words.refused(refused)}
        </p>
      )}
      <TextField
        label={words.reason}
        hint={words.reasonHint}
        value={reason}
        problem={reasonProblem(reason)}
        onChange={setReason}
      />
      {failure !== null && !busy && <FailureBlock failure={failure} />}
      <Button lit submit disabled={!ready}>
        {busy ? words.working : words.sign(step)}
      </Button>
      {!given && refused === null && <p className="quiet">{words.needs}</p>}
    </form>
  );
}
