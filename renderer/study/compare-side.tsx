import type { ReactElement } from 'react';
import type { StudyView } from '../../src/bridge/study.ts';
import { studyWords } from '../words/study.ts';

/** What must be known, what share keeps each limit, what wearers stay below, where the scatter comes from. */
export function CompareSide({ view }: { readonly view: StudyView }): ReactElement {
  const { summary } = view;
  const limits = [...new Set(summary.shares.map(({ limitPercent }) => limitPercent))];
  return (
    <div className="compare-side">
      {summary.marks.length > 0 && (
        <section className="panel compare-know">
          <h2>{studyWords.know}</h2>
          <ul>
            {summary.marks.map(({ mark, text }) => (
              <li key={mark} className="compare-mark">
                {text}
              </li>
            ))}
          </ul>
        </section>
      )}
      {limits.map((limit, index) => (
        <section className="panel" key={limit}>
          <h2>{studyWords.limitTitle(limit)}</h2>
          {summary.shares
            .filter(({ limitPercent }) => limitPercent === limit)
            .map((share) => (
              <div className="compare-share" key={share.ensemble}>
                <h3>
                  {share.share === null
                    ? studyWords.noneTold(share.ensemble)
                    : studyWords.passed(share.ensemble, share.share.passed, share.share.count)}
                </h3>
                {share.share !== null && <p>{studyWords.ofWearers(share.share, summary.questions.confidence)}</p>}
                {share.exceeding.length > 0 && <p>{studyWords.exceeding(share.exceeding)}</p>}
                {share.open > 0 && <p>{studyWords.open(share.open, share.share !== null)}</p>}
                {index === 0 && <Tolerance view={view} ensemble={share.ensemble} />}
              </div>
            ))}
        </section>
      ))}
      {limits.length === 0 && summary.ensembles.length > 0 && (
        <section className="panel">
          <h2>{studyWords.noLimitTitle}</h2>
          {summary.ensembles.map((ensemble) => (
            <div className="compare-share" key={ensemble}>
              <h3>{ensemble}</h3>
              <Tolerance view={view} ensemble={ensemble} />
            </div>
          ))}
        </section>
      )}
      {summary.ensembles.length > 1 && <Components view={view} />}
    </div>
  );
}

function Tolerance({ view, ensemble }: { readonly view: StudyView; readonly ensemble: string }): ReactElement | null {
  const { scopes, questions } = view.summary;
  const tolerance = scopes[0]?.ensembles.find((one) => one.ensemble === ensemble)?.tolerance;
  if (tolerance === undefined) return null;
  return (
    <p>
      {tolerance.known
        ? studyWords.tolerance(tolerance.figure, questions.coverage, questions.toleranceConfidence)
        : studyWords.noTolerance(tolerance.because)}
    </p>
  );
}

function Components({ view }: { readonly view: StudyView }): ReactElement | null {
  const components = view.summary.scopes[0]?.components;
  if (components === undefined) return null;
  if (!components.known) {
    return (
      <section className="panel">
        <h2>{studyWords.components}</h2>
        <p className="quiet">{studyWords.noComponents(components.because)}</p>
      </section>
    );
  }
  const { ensemble, subject, interaction, trial } = components.figure;
  const rows = [
    [studyWords.component.ensemble, ensemble],
    [studyWords.component.subject, subject],
    ...(interaction === null ? [] : [[studyWords.component.interaction, interaction] as const]),
    [interaction === null ? studyWords.component.trialAndInteraction : studyWords.component.trial, trial],
  ] as const;
  return (
    <section className="panel">
      <h2>{studyWords.components}</h2>
      <p className="quiet">{studyWords.componentsText}</p>
      <dl className="compare-components">
        {rows.map(([name, variance]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{studyWords.factor(variance)}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
