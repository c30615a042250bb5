import type { ReactElement, ReactNode } from 'react';
import { useId } from 'react';
import { fieldProblemWords } from '../words/field-problems.ts';
import type { FieldProblem } from './field-problem.ts';
import './field.css';

interface Common {
  readonly label: string;
  /** What belongs into it, below the field. */
  readonly hint?: string | undefined;
  readonly problem?: FieldProblem | undefined;
  readonly disabled?: boolean;
}

interface Described {
  readonly id: string;
  readonly 'aria-describedby'?: string;
  readonly 'aria-invalid'?: true;
}

/** Label above, control, then what is wrong or what belongs into it. */
function Framed(
  props: Common & { readonly wide?: boolean; children: (described: Described) => ReactNode },
): ReactElement {
  const id = useId();
  const { problem, hint } = props;
  const below = problem !== undefined ? `${id}-problem` : hint !== undefined ? `${id}-hint` : null;
  return (
    <div className={props.wide === true ? 'field field-wide' : 'field'}>
      <label htmlFor={id}>{props.label}</label>
      {props.children({
        id,
        ...(below === null ? {} : { 'aria-describedby': below }),
        ...(problem === undefined ? {} : { 'aria-invalid': true }),
      })}
      {problem !== undefined ? (
        <span className="field-problem" id={`${id}-problem`}>
          {fieldProblemWords(problem)}
        </span>
      ) : (
        hint !== undefined && (
          <span className="field-hint" id={`${id}-hint`}>
            {hint}
          </span>
        )
      )}
    </div>
  );
}

/** One line of text. */
export function TextField(
  props: Common & {
    readonly value: string;
    readonly onChange: (value: string) => void;
    readonly unit?: string | undefined;
    readonly kind?: 'text' | 'number' | 'secret' | 'wire';
    readonly autoFocus?: boolean;
    readonly list?: readonly string[];
  },
): ReactElement {
  const listId = useId();
  const kind = props.kind ?? 'text';
  return (
    <Framed {...props}>
      {(described) => (
        <span className="field-line">
          <input
            {...described}
            className={kind === 'wire' ? 'wire' : kind === 'number' ? 'number' : undefined}
            type={kind === 'secret' ? 'password' : 'text'}
            inputMode={kind === 'number' ? 'decimal' : undefined}
            autoComplete={kind === 'secret' ? 'new-password' : 'off'}
            spellCheck={false}
            disabled={props.disabled}
            autoFocus={props.autoFocus}
            list={props.list === undefined ? undefined : listId}
            value={props.value}
            onChange={(event) => {
              props.onChange(event.target.value);
            }}
          />
          {props.unit !== undefined && <span className="field-unit">{props.unit}</span>}
          {props.list !== undefined && (
            <datalist id={listId}>
              {props.list.map((value) => (
                <option key={value} value={value} />
              ))}
            </datalist>
          )}
        </span>
      )}
    </Framed>
  );
}

/** Several lines, in the face of what goes over a wire. */
export function WireText(
  props: Common & { readonly value: string; readonly rows: number; readonly onChange: (value: string) => void },
): ReactElement {
  return (
    <Framed {...props} wide>
      {(described) => (
        <textarea
          {...described}
          className="wire"
          rows={props.rows}
          spellCheck={false}
          value={props.value}
          onChange={(event) => {
            props.onChange(event.target.value);
          }}
        />
      )}
    </Framed>
  );
}

/** Several lines of plain words. */
export function LongField(
  props: Common & { readonly value: string; readonly rows: number; readonly onChange: (value: string) => void },
): ReactElement {
  return (
    <Framed {...props} wide>
      {(described) => (
        <textarea
          {...described}
          rows={props.rows}
          value={props.value}
          onChange={(event) => {
            props.onChange(event.target.value);
          }}
        />
      )}
    </Framed>
  );
}

export interface Choice<Value extends string> {
  readonly value: Value;
  readonly text: string;
}

/** One of several. */
export function ChoiceField<Value extends string>(
  props: Common & {
    readonly value: Value;
    readonly choices: readonly Choice<Value>[];
    readonly onChange: (value: Value) => void;
  },
): ReactElement {
  return (
    <Framed {...props}>
      {(described) => (
        <select
          {...described}
          disabled={props.disabled}
          value={props.value}
          onChange={(event) => {
            const chosen = props.choices.find(({ value }) => value === event.target.value);
            if (chosen !== undefined) props.onChange(chosen.value);
          }}
        >
          {props.choices.map(({ value, text }) => (
            <option key={value} value={value}>
              {text}
            </option>
          ))}
        </select>
      )}
    </Framed>
  );
}

/** Yes or no. */
export function TickField(props: {
  readonly label: string;
  readonly hint?: string;
  readonly value: boolean;
  readonly onChange: (value: boolean) => void;
}): ReactElement {
  const id = useId();
  return (
    <div>
      <label className="tick">
        <input
          type="checkbox"
          aria-describedby={props.hint === undefined ? undefined : id}
          checked={props.value}
          onChange={(event) => {
            props.onChange(event.target.checked);
          }}
        />
        {props.label}
      </label>
      {props.hint !== undefined && (
        <span className="field-hint" id={id}>
          {props.hint}
        </span>
      )}
    </div>
  );
}
