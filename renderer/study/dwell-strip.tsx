import type { ReactElement } from 'react';
import type { PlanPreview } from '../../src/bridge/result.ts';
import { ProbeMark } from '../ui/probe-mark.tsx';
import { planWords } from '../words/plan.ts';

/** An exercise to a scale of time: lead-in, then its dwells in their order, of each the usable part filled. */
export function DwellStrip(props: {
  readonly of: PlanPreview['exercises'][number];
  /** Length that the whole width stands for, s. */
  readonly longestSeconds: number;
  readonly labels: ReadonlyMap<string, string>;
}): ReactElement {
  const { labels, longestSeconds, of } = props;
  const lead = leadSeconds(of);
  return (
    <ol style={{ width: `${(100 * of.durationSeconds) / longestSeconds}%` }}>
      <li className="plan-lead" style={{ flexGrow: lead }}>
        <span className="spoken">{planWords.leadIn(lead)}</span>
      </li>
      {of.dwells.map((dwell) => {
        const usable = Math.min(Math.max(dwell.usableSeconds / dwell.dwellSeconds, 0), 1);
        const label = labels.get(dwell.probe) ?? dwell.probe;
        return (
          <li key={dwell.dwellPosition} style={{ flexGrow: dwell.dwellSeconds }}>
            <span className="plan-lost" style={{ flexGrow: 1 - usable }} />
            <span className="plan-usable" style={{ flexGrow: usable }}>
              <ProbeMark probe={dwell.probe} size={13} />
            </span>
            <span className="spoken">{planWords.dwell(label, dwell.usableSeconds, dwell.dwellSeconds)}</span>
          </li>
        );
      })}
    </ol>
  );
}

/** What of an exercise lies before its first dwell, s. */
function leadSeconds(exercise: PlanPreview['exercises'][number]): number {
  const dwells = exercise.dwells.reduce((sum, { dwellSeconds }) => sum + dwellSeconds, 0);
  return Math.max(0, exercise.durationSeconds - dwells);
}
