import type { ReactElement } from 'react';
import { useId } from 'react';
import { Button } from '../ui/button.tsx';
import type { FieldProblem } from '../ui/field-problem.ts';
import { fieldProblemWords } from '../words/field-problems.ts';
import { editorWords } from '../words/rig.ts';
import type { PortDraft, PortPlace, Problems } from './rig-draft.ts';
import { anotherPort, portPlaces } from './rig-draft.ts';

const columns = [
  editorWords.port,
  editorWords.role,
  editorWords.label,
  editorWords.probe,
  editorWords.transit,
  '±',
  editorWords.dilution,
  '±',
  editorWords.penetration,
  '±',
  editorWords.length,
  editorWords.bore,
];
const stated = ['transitSeconds', 'dilution', 'penetration'] as const;
const optional = ['lineMetres', 'boreMillimetres'] as const;
const optionalNames = { lineMetres: editorWords.length, boreMillimetres: editorWords.bore } as const;
const statedNames = {
  transitSeconds: editorWords.transit,
  dilution: editorWords.dilution,
  penetration: editorWords.penetration,
} as const;

/** The ports of the valve as a table of fields, one row each. */
export function PortTable(props: {
  readonly ports: readonly PortDraft[];
  readonly problems: Problems;
  readonly onChange: (ports: readonly PortDraft[]) => void;
}): ReactElement {
  const { ports, onChange } = props;
  const set = (index: number, change: Partial<PortDraft>): void => {
    onChange(ports.map((port, at) => (at === index ? { ...port, ...change } : port)));
  };
  return (
    <>
      <table className="port-table">
        <thead>
          <tr>
            {columns.map((name, index) => (
              <th scope="col" key={index}>
                {name}
              </th>
            ))}
            <td />
          </tr>
        </thead>
        <tbody>
          {ports.map((port, index) => {
            const cell = (name: string, path: string, value: string, then: (text: string) => void, kind: string) => (
              <Cell
                key={path}
                label={editorWords.of(name, port.port)}
                kind={kind}
                value={value}
                problem={props.problems.get(`ports.${index}.${path}`)}
                onChange={then}
              />
            );
            return (
              <tr key={index}>
                {cell(
                  editorWords.port,
                  'port',
                  port.port,
                  (text) => {
                    set(index, { port: text });
                  },
                  'number',
                )}
                <RoleCell
                  label={editorWords.of(editorWords.role, port.port)}
                  value={port.role}
                  problem={props.problems.get(`ports.${index}.breathingZone`)}
                  onChange={(role) => {
                    set(index, { role });
                  }}
                />
                {cell(
                  editorWords.label,
                  'label',
                  port.label,
                  (text) => {
                    set(index, { label: text });
                  },
                  'text',
                )}
                {cell(
                  editorWords.probe,
                  'probe',
                  port.probe,
                  (text) => {
                    set(index, { probe: text });
                  },
                  'wire',
                )}
                {stated.map((field) => [
                  cell(
                    statedNames[field],
                    `${field}.value`,
                    port[field].value,
                    (value) => {
                      set(index, { [field]: { ...port[field], value } });
                    },
                    'number',
                  ),
                  cell(
                    `${statedNames[field]}, ${editorWords.uncertainty}`,
                    `${field}.standardUncertainty`,
                    port[field].standardUncertainty,
                    (text) => {
                      set(index, { [field]: { ...port[field], standardUncertainty: text } });
                    },
                    'number',
                  ),
                ])}
                {optional.map((field) =>
                  cell(
                    optionalNames[field],
                    field,
                    port[field],
                    (text) => {
                      set(index, { [field]: text });
                    },
                    'number',
                  ),
                )}
                <td>
                  <button
                    type="button"
                    className="remove"
                    aria-label={editorWords.removePort(port.port)}
                    onClick={() => {
                      onChange(ports.filter((_, at) => at !== index));
                    }}
                  >
                    ×
                  </button>
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
      <Button
        small
        onPress={() => {
          onChange([...ports, anotherPort(ports)]);
        }}
      >
        {editorWords.addPort}
      </Button>
    </>
  );
}

function RoleCell(props: {
  readonly label: string;
  readonly value: PortPlace;
  readonly problem: FieldProblem | undefined;
  readonly onChange: (role: PortPlace) => void;
}): ReactElement {
  const id = useId();
  const wrong = props.problem !== undefined;
  return (
    <td>
      <select
        aria-label={props.label}
        aria-invalid={wrong ? true : undefined}
        aria-describedby={wrong ? id : undefined}
        value={props.value}
        onChange={(event) => {
          const role = portPlaces.find((one) => one === event.target.value);
          if (role !== undefined) props.onChange(role);
        }}
      >
        {portPlaces.map((role) => (
          <option key={role} value={role}>
            {editorWords.roleNames[role]}
          </option>
        ))}
      </select>
      <CellProblem id={id} problem={props.problem} />
    </td>
  );
}

function CellProblem({ id, problem }: { readonly id: string; readonly problem: FieldProblem | undefined }) {
  if (problem === undefined) return null;
  return (
    <span className="field-problem" id={id}>
      {fieldProblemWords(problem)}
    </span>
  );
}

function Cell(props: {
  readonly label: string;
  readonly kind: string;
  readonly value: string;
  readonly problem: FieldProblem | undefined;
  readonly onChange: (text: string) => void;
}): ReactElement {
  const id = useId();
  const wrong = props.problem !== undefined;
  return (
    <td>
      <input
        className={props.kind}
        aria-label={props.label}
        aria-invalid={wrong ? true : undefined}
        aria-describedby={wrong ? id : undefined}
        inputMode={props.kind === 'number' ? 'decimal' : undefined}
        autoComplete="off"
        spellCheck={false}
        value={props.value}
        onChange={(event) => {
          props.onChange(event.target.value);
        }}
      />
      <CellProblem id={id} problem={props.problem} />
    </td>
  );
}
