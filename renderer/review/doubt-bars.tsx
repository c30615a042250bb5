import type { ReactElement } from 'react';
import { toFigures } from '../../src/leakage/explain-digits.ts';
import type { Explanation } from '../../src/leakage/explanation.ts';
import { explainWords } from '../words/explain.ts';

/**
 * Which sources the doubt about the air seen is made of: a bar for the share of each in the variance, with its standard
 * uncertainty as percent of the value. The largest comes first; those that nobody could see are summed up.
 */
export function DoubtBars({ explanation }: { readonly explanation: Explanation }): ReactElement | null {
  const { budget, windowPercent } = explanation;
  if (budget === null || windowPercent === null || windowPercent === 0) return null;
  const whole = budget.standardPercent ** 2;
  const shares = budget.lines
    .map(({ line, standardPercent }) => ({
      name: explainWords.sourceNames[line],
      share: (100 * standardPercent ** 2) / whole,
      ofValue: (100 * standardPercent) / Math.abs(windowPercent),
    }))
    .sort((one, other) => other.share - one.share);
  const shown = shares.filter(({ share }) => share >= leastShare);
  const rest = shares.length - shown.length;
  return (
    <section className="doubt-bars" aria-label={explainWords.sources}>
      <h4>{explainWords.sources}</h4>
      <table>
        <thead>
          <tr>
            <th scope="col">{explainWords.source}</th>
            <th scope="col">{explainWords.shareOfVariance}</th>
            <th scope="col" className="number">
              {explainWords.standardOfValue}
            </th>
          </tr>
        </thead>
        <tbody>
          {shown.map(({ name, ofValue, share }) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td>
                <span
                  className="doubt-bar"
                  style={{ width: `${share}%` }}
                  role="img"
                  aria-label={`${toFigures(share, 2)} %`}
                />
              </td>
              <td className="number">{toFigures(ofValue, 2)} %</td>
            </tr>
          ))}
        </tbody>
      </table>
      {rest > 0 && <p className="quiet">{explainWords.smallSources(rest, leastShare)}</p>}
    </section>
  );
}

/** Percent of the variance below which a source is not drawn. */
const leastShare = 0.5;
