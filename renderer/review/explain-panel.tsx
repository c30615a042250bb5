import type { ReactElement } from 'react';
import type { CellExplanation } from '../../src/bridge/result.ts';
import { toFigures } from '../../src/leakage/explain-digits.ts';
import type { ExplainedWindow, Explanation } from '../../src/leakage/explanation.ts';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { explainWords } from '../words/explain.ts';
import { DoubtBars } from './doubt-bars.tsx';
import { budgetBlocks, certificateBlocks } from './budget-rows.ts';
import type { PartSteps, StepRow } from './explain-rows.ts';
import { otherWindows, partSteps, stepForm } from './explain-rows.ts';
import './explain.css';

/** The calculation of one cell, as on paper: in short, then each step in full behind its heading. */
export function ExplainPanel({ outcome }: { readonly outcome: Outcome<CellExplanation> | null }): ReactElement {
  return (
    <section className="explain" aria-label={explainWords.title}>
      <h3>{explainWords.title}</h3>
      {outcome === null ? (
        <p className="quiet" role="status">
          {explainWords.waiting}
        </p>
      ) : outcome.done ? (
        <Steps explained={outcome.value} />
      ) : (
        <FailureBlock failure={outcome.failure} />
      )}
    </section>
  );
}

function Steps({ explained }: { readonly explained: CellExplanation }): ReactElement {
  const { explanation, stored } = explained;
  const parts = partSteps(explanation);
  return (
    <>
      {stored?.agrees === false && <p className="flag">{explainWords.differs(stored.program)}</p>}
      {parts.map((part) => (
        <Part key={part.dwell} part={part} explanation={explanation} several={parts.length > 1} />
      ))}
      <DoubtBars explanation={explanation} />
      {parts.length > 1 && <Combined explanation={explanation} parts={parts} />}
      {[...budgetBlocks(explanation), ...certificateBlocks(explanation)].map(({ title, rows }) => (
        <Block key={title} title={title} rows={rows} />
      ))}
      {otherWindows(explanation).map(({ title, rows }) => (
        <Block key={title} title={title} rows={rows} />
      ))}
    </>
  );
}

function Part(props: {
  readonly part: PartSteps;
  readonly explanation: Explanation;
  readonly several: boolean;
}): ReactElement {
  const { explanation, part, several } = props;
  if (part.window === null) return <p className="quiet">{explainWords.noWindow(part.dwell)}</p>;
  return (
    <>
      {several && <h4>{explainWords.ofDwell(part.dwell, part.roundShare)}</h4>}
      <StepTable title={explainWords.title} rows={part.short} />
      {part.blocks.map(({ title, rows }) => (
        <Block key={title} title={title} rows={rows} />
      ))}
      <Readings window={part.window} unit={stepForm(explanation).unit} />
    </>
  );
}

/** The value of a cell that was looked at in several dwells. */
function Combined(props: { readonly explanation: Explanation; readonly parts: readonly PartSteps[] }): ReactElement {
  const { detectionLimitPercent, parts, windowPercent } = props.explanation;
  const { percent } = stepForm(props.explanation);
  const rows: StepRow[] = [
    ...parts.map((part, index) => ({
      what: explainWords.ofDwell(part.dwell, props.parts[index]?.share ?? ''),
      number: percent(part.windowPercent),
      unit: '%',
    })),
    { what: explainWords.leakage, operator: '=', number: percent(windowPercent), unit: '%' },
    {
      what: explainWords.limitTitle,
      number: detectionLimitPercent === null ? explainWords.none : toFigures(detectionLimitPercent, 4),
      unit: '%',
    },
  ];
  return (
    <>
      <h4>{explainWords.combined}</h4>
      <StepTable title={explainWords.combined} rows={rows} />
    </>
  );
}

function Block({ title, rows }: { readonly title: string; readonly rows: readonly StepRow[] }): ReactElement {
  return (
    <details className="explain-block">
      <summary>{title}</summary>
      <StepTable title={title} rows={rows} />
    </details>
  );
}

function StepTable({ title, rows }: { readonly title: string; readonly rows: readonly StepRow[] }): ReactElement {
  return (
    <table className="explain-steps" aria-label={title}>
      <tbody>
        {rows.map((row, index) => (
          <tr key={index} className={row.operator === '=' ? 'sum' : undefined}>
            <th scope="row">
              {row.what}
              {row.note !== undefined && <small>{row.note}</small>}
            </th>
            <td className="operator">{row.operator}</td>
            <td className="number">{row.number}</td>
            <td className="unit">{row.unit}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Readings({ unit, window }: { readonly unit: string; readonly window: ExplainedWindow }): ReactElement {
  const total = window.values.reduce((sum, { share }) => sum + share, 0);
  return (
    <details className="explain-block">
      <summary>{explainWords.readings(window.readings)}</summary>
      <p className="quiet">{explainWords.shareRule(total, window.leftOut?.pieces.length ?? 1)}</p>
      <table className="explain-readings" aria-label={explainWords.readingsTable}>
        <thead>
          <tr>
            <th scope="col">{explainWords.arrived}</th>
            <th scope="col">
              {explainWords.value}, {unit}
            </th>
            <th scope="col">{explainWords.share}</th>
          </tr>
        </thead>
        <tbody>
          {window.values.map(({ atMicroseconds, share, value }, index) => (
            <tr key={index}>
              <td>{(atMicroseconds / 1e6).toFixed(6)}</td>
              <td>{String(value).replace('-', '−')}</td>
              <td>{share}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
