import type { ReactElement } from 'react';
import { useState } from 'react';
import { probePorts } from '../../src/model/rig.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { Series } from '../../src/model/series.ts';
import { Button } from '../ui/button.tsx';
import type { FieldProblem } from '../ui/field-problem.ts';
import { ChoiceField, TextField } from '../ui/field.tsx';
import { seriesWords } from '../words/series.ts';
import { RotationPanel } from './promise-panel.tsx';
import { aroundNumbers } from './series-draft.ts';
import type { SeriesChange, SeriesDraft } from './series-draft.ts';

/** What lies before and after the exercises, and the order of the probes in them. */
export function AroundForm(props: {
  readonly draft: SeriesDraft;
  readonly rig: Rig | null;
  /** As it reads; null while a field is wrong. */
  readonly series: Series | null;
  readonly problems: ReadonlyMap<string, FieldProblem>;
  readonly onChange: (change: SeriesChange) => void;
}): ReactElement {
  const { draft, rig } = props;
  return (
    <>
      <section className="panel series-order" aria-label={seriesWords.order}>
        <h2>{seriesWords.order}</h2>
        <ChoiceField
          label={seriesWords.orderOf}
          value={draft.orderKind}
          choices={(['rotated', 'fixed'] as const).map((value) => ({ value, text: seriesWords.orders[value] }))}
          onChange={(kind) => props.onChange({ change: 'order', kind })}
        />
        <Forbidden draft={draft} rig={rig} onChange={props.onChange} />
        {rig !== null && props.series !== null && <RotationPanel series={props.series} rig={rig} />}
      </section>
      <section className="panel" aria-label={seriesWords.around}>
        <h2>{seriesWords.around}</h2>
        <div className="series-around">
          {aroundNumbers.map((path) => {
            const problem = props.problems.get(path);
            return (
              <TextField
                key={path}
                label={seriesWords.aroundFields[path]}
                kind="number"
                unit={path.endsWith('Percent') ? seriesWords.unit.percent : seriesWords.unit.second}
                value={draft.around[path]}
                {...(problem === undefined ? {} : { problem })}
                onChange={(value) => props.onChange({ change: 'around', field: path, value })}
              />
            );
          })}
        </div>
      </section>
    </>
  );
}

/** Pairs of probes that must not follow each other. Probes are those of the open rig. */
function Forbidden(props: {
  readonly draft: SeriesDraft;
  readonly rig: Rig | null;
  readonly onChange: (change: SeriesChange) => void;
}): ReactElement {
  const { draft, rig } = props;
  const probes = rig === null ? [] : probePorts(rig).map(({ label, probe }) => ({ value: probe, text: label }));
  const [before, setBefore] = useState('');
  const [after, setAfter] = useState('');
  const from = probes.some(({ value }) => value === before) ? before : (probes.at(-1)?.value ?? '');
  const to = probes.some(({ value }) => value === after) ? after : (probes[0]?.value ?? '');
  const labelOf = (probe: string): string => probes.find(({ value }) => value === probe)?.text ?? probe;
  return (
    <div className="series-forbidden" role="group" aria-label={seriesWords.forbidden}>
      <h3>{seriesWords.forbidden}</h3>
      {draft.forbidden.length > 0 && (
        <ul>
          {draft.forbidden.map(([first, second], index) => (
            <li key={`${first} ${second}`}>
              {seriesWords.pair(labelOf(first), labelOf(second))}
              <Button
                small
                label={seriesWords.allow(labelOf(first), labelOf(second))}
                onPress={() => props.onChange({ change: 'allow', index })}
              >
                ×
              </Button>
            </li>
          ))}
        </ul>
      )}
      {probes.length > 1 && (
        <div className="series-pair">
          <ChoiceField label={seriesWords.pairBefore} value={from} choices={probes} onChange={setBefore} />
          <ChoiceField label={seriesWords.pairAfter} value={to} choices={probes} onChange={setAfter} />
          <Button
            small
            disabled={from === to}
            onPress={() => props.onChange({ change: 'forbid', pair: [from, to] })}
          >
            {seriesWords.forbid}
          </Button>
        </div>
      )}
    </div>
  );
}
