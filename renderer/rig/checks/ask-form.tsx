import type { FormEvent, ReactElement } from 'react';
import { useState } from 'react';
import type { Answers, CheckStep } from '../../../src/calibration/check/step.ts';
import type { Unit } from '../../../src/model/unit.ts';
import { units } from '../../../src/model/unit.ts';
import { Button } from '../../ui/button.tsx';
import { TextField } from '../../ui/field.tsx';
import type { FieldProblem } from '../../ui/field-problem.ts';
import { readNumber } from '../../ui/read-number.ts';
import { checkWords } from '../../words/checks.ts';
import { readTimeOfDay } from './desk-state.ts';

/** What a person does or says in the middle of a check. */
export function AskForm(props: {
  readonly step: Extract<CheckStep, { step: 'ask' }>;
  /** Name of the port that it is about. */
  readonly port: string;
  /** Unit of the photometer, for what is said in it. */
  readonly unit: Unit | null;
  /** Hands are virtual too. */
  readonly virtual: boolean;
  readonly busy: boolean;
  readonly onAnswer: (answers: Answers) => void;
}): ReactElement {
  const { step } = props;
  const [typed, setTyped] = useState<Readonly<Record<string, string>>>(() =>
    Object.fromEntries(step.fields.map(({ field, proposed }) => [field, proposed === null ? '' : String(proposed)])),
  );
  const [problems, setProblems] = useState<Readonly<Record<string, FieldProblem>>>({});
  const answer = (event?: FormEvent): void => {
    event?.preventDefault();
    const answers: Answers = {};
    const wrong: Record<string, FieldProblem> = {};
    for (const { field, high, kind, low } of step.fields) {
      const text = typed[field] ?? '';
      const value = kind === 'time' ? readTimeOfDay(text) : readNumber(text);
      if (value === null) wrong[field] = { kind: kind === 'time' ? 'not-a-time' : 'not-a-number' };
      else if (value < low) wrong[field] = { kind: 'least', limit: low, inclusive: true };
      else if (value > high) wrong[field] = { kind: 'most', limit: high, inclusive: true };
      else answers[field] = value;
    }
    setProblems(wrong);
    if (Object.keys(wrong).length === 0) props.onAnswer(answers);
  };
  return (
    <form className="ask-form" onSubmit={answer}>
      <p className="ask-text">{checkWords.ask(step.ask, props.port, step.place, props.virtual)}</p>
      {step.fields.map(({ field, kind, unit }) => {
        const shown = unit ?? props.unit;
        return (
          <TextField
            key={field}
            label={checkWords.fields[field] ?? field}
            kind={kind === 'time' ? 'text' : 'number'}
            value={typed[field] ?? ''}
            unit={kind === 'time' || shown === null ? undefined : units[shown].symbol}
            problem={problems[field]}
            onChange={(value) => {
              setTyped({ ...typed, [field]: value });
            }}
          />
        );
      })}
      <Button lit hotkey="G" disabled={props.busy} onPress={() => answer()}>
        {checkWords.goOn}
      </Button>
    </form>
  );
}
