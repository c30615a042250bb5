import type { ReactElement } from 'react';
import type { CheckStanding, KeptCheck } from '../../../src/calibration/check/standing.ts';
import type { Figure } from '../../../src/calibration/check/vocabulary.ts';
import { Icon } from '../../ui/icon.tsx';
import { checkWords } from '../../words/checks.ts';
import { mainFigure } from './desk-state.ts';
import { HistoryChart } from './history-chart.tsx';

/** What was found: the figures beside their limits, the verdict, what was found before, as found and as left. */
export function Found(props: {
  readonly standing: CheckStanding;
  /** The one that is shown; null: none was ever made. */
  readonly shown: KeptCheck | null;
  readonly history: readonly KeptCheck[];
  readonly onShow: (number: number) => void;
}): ReactElement {
  const { history, shown, standing } = props;
  if (shown === null) {
    return (
      <section className="panel desk-found" aria-label={checkWords.result} tabIndex={0}>
        <h2>{checkWords.notMade}</h2>
        <p className="quiet">{checkWords.notMadeMore}</p>
      </section>
    );
  }
  const { result } = shown;
  const main = mainFigure(result.figures);
  const newest = standing.newest?.number === shown.number;
  return (
    <section className="panel desk-found" aria-label={checkWords.result} tabIndex={0}>
      <header>
        <h2>{checkWords.result}</h2>
        <span className={result.passed ? 'verdict' : 'flag'}>
          <Icon name={result.passed ? 'tick' : 'cross'} />
          {result.passed ? checkWords.passed : checkWords.failed}
        </span>
      </header>
      <p className="quiet">
        {checkWords.made(result.at, result.person, result.condition)}
        {newest && result.passed && standing.dueAt !== null && `; ${checkWords.holdsUntil(standing.dueAt)}`}
      </p>
      <p className="desk-detail">{result.detail}</p>
      <dl className="figures">
        {result.figures.map((figure, index) => (
          <FigureRow key={figure.figure} figure={figure} large={index === 0} />
        ))}
      </dl>
      {main !== null && history.length > 0 && (
        <>
          <h3>{checkWords.history}</h3>
          <HistoryChart figure={main.figure} history={history} />
          <ul className="history-rows">
            {history.slice(0, 8).map((one) => (
              <li key={one.number}>
                <button
                  type="button"
                  className="history-row"
                  aria-pressed={one.number === shown.number}
                  onClick={() => {
                    props.onShow(one.number);
                  }}
                >
                  <span>{checkWords.made(one.result.at, one.result.person, one.result.condition)}</span>
                  <b>{valueOf(one, main.figure)}</b>
                  <span>{one.result.passed ? checkWords.passed : checkWords.failed}</span>
                </button>
              </li>
            ))}
          </ul>
        </>
      )}
      <FoundAndLeft history={history} />
    </section>
  );
}

function FigureRow({ figure, large }: { readonly figure: Figure; readonly large: boolean }): ReactElement {
  const { standardUncertainty, unit, value } = figure;
  const limit = checkWords.limit(figure.low, figure.high);
  return (
    <div className={large ? 'figure figure-large' : 'figure'}>
      <dt>{checkWords.figure(figure.figure)}</dt>
      <dd>
        <b>{checkWords.value(value, unit)}</b>
        {standardUncertainty !== null && (
          <span className="quiet"> u {checkWords.value(standardUncertainty, unit)}</span>
        )}
      </dd>
      <dd className={figure.passed ? 'quiet' : 'figure-out'}>{limit}</dd>
    </div>
  );
}

function valueOf({ result }: KeptCheck, name: string): string {
  const found = result.figures.find(({ figure }) => figure === name);
  return found === undefined ? '–' : checkWords.value(found.value, found.unit);
}

/** The newest of each, side by side, where both are there. */
function FoundAndLeft({ history }: { readonly history: readonly KeptCheck[] }): ReactElement | null {
  const left = history.find(({ result }) => result.condition === 'as-left');
  const found = history.find(
    ({ number, result }) => result.condition === 'as-found' && (left === undefined || number < left.number),
  );
  if (left === undefined || found === undefined) return null;
  return (
    <>
      <h3>{checkWords.foundLeft}</h3>
      <table>
        <thead>
          <tr>
            <th scope="col">{checkWords.quantity}</th>
            <th scope="col" className="n">
              {checkWords.asFound}
            </th>
            <th scope="col" className="n">
              {checkWords.asLeft}
            </th>
          </tr>
        </thead>
        <tbody>
          {left.result.figures.slice(0, 4).map(({ figure }) => (
            <tr key={figure}>
              <td>{checkWords.figure(figure)}</td>
              <td className="n">{valueOf(found, figure)}</td>
              <td className="n">{valueOf(left, figure)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
