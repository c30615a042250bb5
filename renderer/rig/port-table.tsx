import type { ReactElement } from 'react';
import { useId } from 'react';
import { Button } from '../ui/button.tsx';
import { fieldProblemWords } from '../words/field-problems.ts';
import { editorWords } from '../words/rig.ts';
import type { PortDraft, Problems } from './rig-draft.ts';
import { anotherPort, portRoles } from './rig-draft.ts';

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
                <td>
                  <select
                    aria-label={editorWords.of(editorWords.role, port.port)}
                    value={port.role}
                    onChange={(event) => {
                      const role = portRoles.find((one) => one === event.target.value);
                      if (role !== undefined) set(index, { role });
                    }}
                  >
                    {portRoles.map((role) => (
                      <option key={role} value={role}>
                        {editorWords.roleNames[role]}
                      </option>
                    ))}
                  </select>
                </td>
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

function Cell(props: {
  readonly label: string;
  readonly kind: string;
  readonly value: string;
  readonly problem: Parameters<typeof fieldProblemWords>[0] | undefined;
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
      {props.problem !== undefined && (
        <span className="field-problem" id={id}>
          {fieldProblemWords(props.problem)}
        </span>
      )}
    </td>
  );
}
