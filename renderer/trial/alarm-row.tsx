import type { CSSProperties, ReactElement } from 'react';
import { useStore } from 'zustand';
import type { AlarmView, Snapshot } from '../../src/bridge/snapshot.ts';
import { Icon } from '../ui/icon.tsx';
import { Key } from '../ui/key.tsx';
import { alarmWords } from '../words/alarms.ts';
import { trialWords } from '../words/trial.ts';
import { clockOfDay, minutesAndSeconds } from '../words/times.ts';
import { alarmsInRow, alarmsShown } from './alarm-order.ts';
import type { TrialCommands } from './commands.ts';
import { consoleState } from './console-state.ts';
import './alarm-row.css';

const keys = ['A', 'B', 'C', 'D'] as const;

/**
 * A place of its own for alarms; it is there, and as high, when there is none.
 * @param props.commands null in a replay: nobody acknowledges what has been.
 */
export function AlarmRow(props: {
  readonly snapshot: Snapshot;
  readonly commands: TrialCommands | null;
}): ReactElement {
  const { snapshot, commands } = props;
  const panel = useStore(consoleState, (state) => state.panel);
  const alarms = alarmsInRow(snapshot.alarms);
  const shown = alarmsShown(alarms);
  const hidden = alarms.length - shown.length;
  // Pressed and lost are alarms, and stand beside this.
  const said = snapshot.trial?.subjectStop ?? null;
  const stop = said === 'pressed' || said === 'lost' ? null : said;
  const standing = alarms.filter(({ lastedSeconds }) => lastedSeconds === null).length;
  return (
    <section className={`shelf shelf-${shown.length}`} aria-label={alarmWords.watched(snapshot.limitsWatched)}>
      {shown.map((alarm, index) => (
        <AlarmBlock
          key={`${alarm.alarm}/${alarm.instrument ?? ''}`}
          alarm={alarm}
          hotkey={keys[index] ?? ''}
          open={panel?.kind === 'acknowledge' && panel.alarm === alarm.alarm && panel.instrument === alarm.instrument}
          commands={commands}
        />
      ))}
      {(shown.length < 2 || hidden > 0) && (
        <div className="calm">
          {hidden > 0 ? (
            <b>{alarmWords.more(hidden)}</b>
          ) : (
            <>
              <b>
                <Icon name="tick" size={20} />{' '}
                {shown.length > 0
                  ? alarmWords.othersWatched(Math.max(0, snapshot.limitsWatched - standing))
                  : alarmWords.watched(snapshot.limitsWatched)}
              </b>
              <span>
                {alarmWords.none}
                {stop !== null && ` · ${trialWords.subjectStop[stop]}`}
              </span>
            </>
          )}
        </div>
      )}
    </section>
  );
}

function AlarmBlock(props: {
  readonly alarm: AlarmView;
  readonly hotkey: string;
  readonly open: boolean;
  readonly commands: TrialCommands | null;
}): ReactElement {
  const { alarm, commands } = props;
  const gone = alarm.lastedSeconds !== null;
  // Only what is live may be full: in a replay an alarm has the frame of one that has gone.
  const manner = gone || commands === null ? 'gone' : alarm.acknowledged ? 'seen' : 'new';
  const headline = alarmWords.headline(alarm);
  const detail = `${gone ? `${alarmWords.was(minutesAndSeconds(alarm.lastedSeconds ?? 0))}. ` : ''}${alarm.detail}`;
  // How much there is to say, for the style that shares the row. React's types know no custom properties.
  const lengths = { '--letters': headline.length, '--more': detail.length + alarm.action.length } as CSSProperties;
  return (
    <div
      className={`al al-${alarm.priority} al-${manner}`}
      style={lengths}
      role={commands === null ? undefined : 'alert'}
    >
      <span className="al-sign">
        <Sign priority={alarm.priority} />
      </span>
      <div className="al-words">
        <div className="al-head">{headline}</div>
        <div className="al-more">
          {/* Where the row is short of room the end is cut, and what to do is not. */}
          <b>{alarm.action}</b> {detail}
        </div>
      </div>
      <div className="al-side">
        {alarm.acknowledged && <span>{alarmWords.acknowledged}</span>}
        {!alarm.acknowledged && commands !== null && (
          <button
            type="button"
            onClick={() =>
              consoleState.setState({
                panel: { kind: 'acknowledge', alarm: alarm.alarm, instrument: alarm.instrument },
              })
            }
          >
            <Key>{props.hotkey}</Key> <span className="al-do">{alarmWords.acknowledge}</span>
          </button>
        )}
        <small>
          <i>{alarmWords.priority(alarm.priority)} · </i>
          {clockOfDay(alarm.raisedAt)}
        </small>
      </div>
      {props.open && commands !== null && (
        <div className="al-reasons panel" role="dialog" aria-label={alarmWords.reasonTitle(headline)}>
          <h2>{alarmWords.reasonTitle(headline)}</h2>
          {alarmWords.reasons.map((reason, index) => (
            <button
              key={reason}
              type="button"
              className="btn"
              onClick={() => commands.acknowledge(alarm.alarm, alarm.instrument, reason)}
            >
              <Key>{index + 1}</Key> {reason}
            </button>
          ))}
        </div>
      )}
    </div>
  );
}

function Sign({ priority }: { readonly priority: AlarmView['priority'] }): ReactElement {
  return (
    <svg viewBox="0 0 24 24" aria-hidden="true">
      {priority === 'high' && (
        <path className="sign-plate" d="M7.5 1.5H16.5L22.5 7.5V16.5L16.5 22.5H7.5L1.5 16.5V7.5Z" />
      )}
      {priority === 'medium' && <path className="sign-plate" d="M12 2.5L22.5 21H1.5Z" />}
      {priority === 'low' && <circle className="sign-plate" cx="12" cy="12" r="10.5" />}
      {priority === 'low' ? (
        <path className="sign-stroke" d="M12 11v6M12 7v.2" />
      ) : (
        <path className="sign-stroke" d={priority === 'high' ? 'M12 6.5v7M12 17.2v.2' : 'M12 9.5v5M12 17.8v.2'} />
      )}
    </svg>
  );
}
