import type { ReactElement } from 'react';
import type { Standing } from '../../src/calibration/check/standing.ts';
import { Icon } from '../ui/icon.tsx';
import { registerWords as words } from '../words/register.ts';
import type { RowStanding } from './register-rows.ts';

/** How a certificate or a check stands: a tick for what holds, a cross for what does not, a frame for what is near. */
export function StandingMark({ standing }: { readonly standing: RowStanding | Standing }): ReactElement {
  switch (standing) {
    case 'valid':
      return (
        <span className="verdict">
          <Icon name="tick" />
          {words.standing(standing)}
        </span>
      );
    case 'none-needed':
      return <span className="quiet">{words.standing(standing)}</span>;
    case 'expired':
    case 'missing':
      return (
        <span className="flag">
          <Icon name="cross" />
          {words.standing(standing)}
        </span>
      );
    case 'due-soon':
      return <span className="flag">{words.standing(standing)}</span>;
    case 'never':
      return <span className="quiet">{words.checkStanding(standing)}</span>;
    case 'overdue':
    case 'failed':
      return (
        <span className="flag">
          <Icon name="cross" />
          {words.checkStanding(standing)}
        </span>
      );
  }
}
