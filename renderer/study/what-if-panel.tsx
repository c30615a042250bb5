import type { ReactElement } from 'react';
import type { StudyView } from '../../src/bridge/study.ts';
import { answersChangeAt, whatIfDifference } from '../../src/study/what-if.ts';
import { Button } from '../ui/button.tsx';
import { ChoiceField } from '../ui/field.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { whatIfWords } from '../words/what-if.ts';
import { studyWords } from '../words/study.ts';
import type { WhatIfState } from './use-what-if.ts';

/** That this is a what-if, what is asked, and what it changes. One key leads out, and nothing is kept. */
export function WhatIfPanel(props: { readonly standing: StudyView; readonly state: WhatIfState }): ReactElement {
  const { standing, state } = props;
  const { asked, busy, failure, view } = state;
  const others = standing.methods.length > 1 ? standing.methods : [];
  return (
    <section className="what-if" aria-label={whatIfWords.title}>
      <header className="panel">
        <h2 className="what-if-tag">{whatIfWords.title}</h2>
        <p>{whatIfWords.nothingKept}</p>
        <span className="grow" />
        {others.length > 0 && (
          <ChoiceField
            label={whatIfWords.method}
            value={asked?.method ?? ''}
            choices={[
              { value: '', text: whatIfWords.asItCounts },
              ...others.map(({ method, trials }) => ({ value: method, text: whatIfWords.heldBy(method, trials) })),
            ]}
            onChange={(method) => state.chooseMethod(method === '' ? null : method)}
          />
        )}
        <Button lit hotkey="Esc" onPress={state.end}>
          {whatIfWords.back}
        </Button>
      </header>
      {failure !== null && <FailureBlock failure={failure} />}
      <div className="panel" role="status">
        {busy ? <p>{whatIfWords.computing}</p> : <Difference standing={standing} view={view} />}
      </div>
    </section>
  );
}

function Difference({ standing, view }: { readonly standing: StudyView; readonly view: StudyView }): ReactElement {
  if (view === standing) return <p className="quiet">{whatIfWords.how}</p>;
  const difference = whatIfDifference(standing.summary, view.summary);
  const [whole] = difference.places;
  const means = (whole?.means ?? []).filter(({ factor }) => factor === null || Math.abs(factor - 1) > 1e-9);
  const shares = difference.shares.filter(
    (share) => whatIfWords.kept(share.standing) !== whatIfWords.kept(share.whatIf),
  );
  const changesAt = answersChangeAt(difference).map((probe) =>
    probe === null ? studyWords.whole : (standing.probes.find((one) => one.probe === probe)?.label ?? probe),
  );
  const [first = ''] = standing.summary.ensembles;
  const ratios = (whole?.ratios ?? []).filter(({ lower }) => lower === first);
  const { confidence } = standing.summary.questions;
  const saidIn = ({ summary }: StudyView, upper: string): string => {
    const ratio = summary.scopes[0]?.ratios.find((one) => one.lower === first && one.upper === upper)?.ratio;
    if (ratio === undefined) return whatIfWords.none;
    return ratio.known ? studyWords.statement(ratio.figure, confidence) : studyWords.noRatio(ratio.because);
  };
  return (
    <>
      <p>
        <b>{whatIfWords.asked(difference)}</b> {whatIfWords.answer(changesAt)}
      </p>
      <table aria-label={whatIfWords.table}>
        <thead>
          <tr>
            <th scope="col">{whatIfWords.what}</th>
            <th scope="col">{whatIfWords.standing}</th>
            <th scope="col">{whatIfWords.whatIf}</th>
            <th scope="col" className="n">
              {whatIfWords.difference}
            </th>
          </tr>
        </thead>
        <tbody>
          {ratios.map(({ upper, factor }) => (
            <tr key={upper}>
              <th scope="row">{whatIfWords.against(upper, first)}</th>
              <td>{saidIn(standing, upper)}</td>
              <td>{saidIn(view, upper)}</td>
              <td className="n">{whatIfWords.factor(factor)}</td>
            </tr>
          ))}
          {means.map((mean) => (
            <tr key={mean.ensemble}>
              <th scope="row">{whatIfWords.mean(mean.ensemble)}</th>
              <td>{whatIfWords.percent(mean.standing)}</td>
              <td>{whatIfWords.percent(mean.whatIf)}</td>
              <td className="n">{whatIfWords.factor(mean.factor)}</td>
            </tr>
          ))}
          {shares.map((share) => (
            <tr key={`${share.ensemble} ${share.limitPercent}`}>
              <th scope="row">{whatIfWords.keeps(share.ensemble, share.limitPercent)}</th>
              <td>{whatIfWords.kept(share.standing)}</td>
              <td>{whatIfWords.kept(share.whatIf)}</td>
              <td />
            </tr>
          ))}
        </tbody>
      </table>
      <p className="quiet">{whatIfWords.onlyMoved}</p>
    </>
  );
}
