import type { ReactElement } from 'react';
import type { PlanPreview } from '../../src/bridge/result.ts';
import type { Failure } from '../../src/bridge/snapshot.ts';
import type { Rig } from '../../src/model/rig.ts';
import { FailureBlock } from '../ui/failure-block.tsx';
import { planWords } from '../words/plan.ts';
import { minutesAndSeconds } from '../words/times.ts';
import { DwellStrip } from './dwell-strip.tsx';

/** The trial that a plan makes: each exercise with its dwells in order, drawn to one scale of time. */
export function PlanPreviewPanel(props: {
  readonly preview: PlanPreview | null;
  readonly refusal: Failure | null;
  readonly rig: Rig | null;
}): ReactElement {
  const { preview, refusal, rig } = props;
  return (
    <section className="panel plan-preview" aria-label={planWords.preview}>
      <header>
        <h2>{planWords.preview}</h2>
        {rig !== null && <span className="quiet">{planWords.rigLine(rig.name, rig.version)}</span>}
      </header>
      {refusal !== null && <FailureBlock failure={refusal} />}
      {preview === null && refusal === null && <Empty />}
      {preview !== null && <Preview preview={preview} rig={rig} />}
    </section>
  );
}

/** Outlines of what will stand here, and what is missing for it. */
function Empty(): ReactElement {
  const rows = 5;
  return (
    <div className="plan-empty">
      <svg viewBox="0 0 520 170" aria-hidden="true">
        {Array.from({ length: rows }, (_, row) =>
          Array.from({ length: 4 }, (_, exercise) => (
            <rect
              key={exercise}
              className="plan-ghost"
              x={exercise * 134 + ((row + exercise * 2) % rows) * 23}
              y={row * 34 + 4}
              width="20"
              height="26"
            />
          )),
        )}
      </svg>
      <p>{planWords.previewEmpty}</p>
    </div>
  );
}

function Preview({ preview, rig }: { readonly preview: PlanPreview; readonly rig: Rig | null }): ReactElement {
  const least = Math.min(...preview.exercises.flatMap(({ dwells }) => dwells.map((dwell) => dwell.usableSeconds)));
  const longest = Math.max(...preview.exercises.map((one) => one.durationSeconds));
  const labels = new Map(rig?.ports.map((port) => [port.probe, port.label]));
  return (
    <>
      <div className="plan-sums">
        <Sum figure={minutesAndSeconds(preview.durationSeconds)} text={planWords.duration} />
        <Sum figure={String(preview.exercises.length)} text={planWords.exercises} />
        {Number.isFinite(least) && <Sum figure={planWords.seconds(least)} text={planWords.leastUsable} />}
      </div>
      <table className="plan-table">
        <thead>
          <tr>
            <th scope="col">{planWords.exercise}</th>
            <th scope="col" className="n">
              {planWords.rest}
            </th>
            <th scope="col" className="n">
              {planWords.length}
            </th>
            <th scope="col" className="plan-dwells">
              {planWords.dwellOrder}
            </th>
          </tr>
        </thead>
        <tbody>
          {preview.exercises.map((one) => (
            <tr key={one.exercise}>
              <th scope="row">{one.name}</th>
              <td className="n">{minutesAndSeconds(one.restSeconds)}</td>
              <td className="n">{minutesAndSeconds(one.durationSeconds)}</td>
              <td className="plan-dwells">
                <DwellStrip of={one} longestSeconds={longest} labels={labels} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {preview.watched.length > 0 && (
        <section className="plan-watched" aria-label={planWords.watched}>
          <h3>{planWords.watched}</h3>
          <ul>
            {preview.watched.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
        </section>
      )}
      {preview.warnings.length === 0 ? (
        <p className="quiet">{planWords.noWarnings}</p>
      ) : (
        <section className="plan-warnings" aria-label={planWords.warnings}>
          <h3>{planWords.warnings}</h3>
          <ul>
            {preview.warnings.map((warning) => (
              <li key={warning}>{warning}</li>
            ))}
          </ul>
        </section>
      )}
    </>
  );
}

function Sum({ figure, text }: { readonly figure: string; readonly text: string }): ReactElement {
  return (
    <p>
      <b>{figure}</b> {text}
    </p>
  );
}
