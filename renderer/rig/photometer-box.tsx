import type { ReactElement } from 'react';
import type { InstrumentState } from '../../src/bridge/snapshot.ts';
import type { Rig } from '../../src/model/rig.ts';
import { significant } from '../words/numbers.ts';
import { rigWords } from '../words/rig.ts';

/** The end of the air path: the light, the air across it, and what is read now. */
export function PhotometerBox(props: {
  readonly state: InstrumentState | null;
  /** Whether air of a confirmed port reaches it. */
  readonly flows: boolean;
  readonly reading: number | null;
  readonly perSecond: number | null;
  readonly show: (reading: number) => string;
  readonly rig: Pick<Rig, 'commonTransitSeconds' | 'timeConstantSeconds' | 'lineLitresPerMinute'>;
}): ReactElement {
  const { rig } = props;
  const flow = rig.lineLitresPerMinute;
  const live = props.state?.state === 'live';
  return (
    <div className={props.flows ? 'photometer photometer-flows' : 'photometer'}>
      <p className="photometer-title">{rigWords.photometer}</p>
      <p className="photometer-value">
        <span>{rigWords.reads}</span>
        <b className={live ? undefined : 'stale'}>
          {props.reading === null ? (live ? '–' : rigWords.noReading) : props.show(props.reading)}
        </b>
      </p>
      <svg viewBox="0 0 210 90" aria-hidden="true">
        <path className="photometer-pipe" d="M0 45H210" />
        <circle className="photometer-cell" cx="105" cy="45" r="35" />
        <path className="photometer-light" d="M105 2V88" />
        <circle className="photometer-spot" cx="105" cy="45" r="9" />
      </svg>
      <p className="quiet">
        {live && props.perSecond !== null
          ? rigWords.perSecond(props.perSecond.toFixed(1))
          : rigWords.state[props.state?.state ?? 'unconnected']}
      </p>
      <div className="photometer-rest">
        <p>{rigWords.timeConstant(significant(rig.timeConstantSeconds.value, 2))}</p>
        <p>{rigWords.fromValve(significant(rig.commonTransitSeconds.value, 2))}</p>
        {flow !== undefined && <p>{rigWords.lineFlow(significant(flow, 2))}</p>}
      </div>
    </div>
  );
}
