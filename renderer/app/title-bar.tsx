import { useEffect, useState, type ReactElement } from 'react';
import { useStore } from 'zustand';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import { Brand } from '../ui/brand.tsx';
import { Icon } from '../ui/icon.tsx';
import { soundState } from '../ui/sound.ts';
import { VirtualTag } from '../ui/virtual-tag.tsx';
import { appWords } from '../words/app.ts';
import { openSubjectDisplay, routes, type Place } from './routes.ts';
import { applyTheme, shownTheme } from './theme.ts';

/** What, for whom, is it being kept, what time is it: the same line on every screen. */
export function TitleBar(props: {
  readonly snapshot: Snapshot;
  readonly place: Place;
  readonly go: (to: string) => void;
}): ReactElement {
  const { snapshot, place } = props;
  const { replay, rig, trial } = snapshot;
  const header = (replay?.view ?? trial)?.header ?? null;
  const virtual = header?.virtual ?? rig.rig?.virtual ?? false;
  const live = rig.instruments.filter(({ state }) => state === 'live').length;
  const trialOver = trial?.phase === 'closed';
  const uncommitted = snapshot.record?.uncommittedSeconds ?? 0;
  return (
    <header className="bar">
      <div className="brand">
        <Brand size={22} />
        {appWords.program}
      </div>
      <nav className="places">
        <To here={place.at === 'start'} to={routes.start}>
          {appWords.start}
        </To>
        <To here={place.at === 'rig' || place.at === 'check'} to={routes.rig}>
          {appWords.rig}
        </To>
        <To here={place.at === 'instruments'} to={routes.register}>
          {appWords.instruments}
        </To>
        <To
          here={place.at === 'plan' || place.at === 'series' || place.at === 'trial'}
          to={trial === null ? routes.plan(null) : routes.trial}
        >
          {trial === null ? appWords.plan : appWords.trial}
        </To>
      </nav>
      {replay !== null && (
        <a className="bar-replay" href={`#${routes.replay}`} aria-current={place.at === 'replay' ? 'page' : undefined}>
          {appWords.replay(replay.playing ? replay.speed : null)}
        </a>
      )}
      {virtual && <VirtualTag />}
      {header !== null && (
        <span className="bar-what">
          <b>{header.subject}</b> {header.ensemble}
        </span>
      )}
      <span className="bar-space" />
      <SoundAsleep />
      {trial !== null && !trialOver && rig.state !== 'open' && (
        <b className="bar-late">{appWords.noInstruments}</b>
      )}
      {rig.state === 'open' && (
        <span className="bar-streams">
          <Icon name={live === rig.instruments.length ? 'tick' : 'break'} />
          {appWords.streams(live, rig.instruments.length)}
        </span>
      )}
      {trial !== null && snapshot.record !== null && (
        <span className={snapshot.record.failure === null && uncommitted < 3 ? 'bar-rec' : 'bar-rec bar-late'}>
          <i className="rec-dot" aria-hidden="true" />
          {uncommitted < 3 ? appWords.recording : appWords.notOnDisk(uncommitted)}
        </span>
      )}
      {snapshot.host.freeBytes !== null && (
        <span className="bar-free">{appWords.freeSpace(snapshot.host.freeBytes)}</span>
      )}
      <a className="bar-person" href={`#${routes.person}`}>
        {snapshot.person === null ? appWords.nobody : appWords.person(snapshot.person.code)}
      </a>
      <button type="button" className="bar-theme bar-subject" onClick={openSubjectDisplay}>
        <Icon name="display" /> {appWords.subjectDisplay(snapshot.host.subjectDisplays)}
      </button>
      <ThemeSwitch />
      <WallClock />
    </header>
  );
}

function To(props: { readonly here: boolean; readonly to: string; readonly children: string }): ReactElement {
  return (
    <a className={props.here ? 'on' : ''} aria-current={props.here ? 'page' : undefined} href={`#${props.to}`}>
      {props.children}
    </a>
  );
}

/** An alarm that cannot be heard here is worse than none: the person counts on it. */
function SoundAsleep(): ReactElement {
  const asleep = useStore(soundState, (state) => state.asleep);
  return <span role="status">{asleep && <b className="bar-silent">{appWords.noSound}</b>}</span>;
}

function ThemeSwitch(): ReactElement {
  const [theme, setTheme] = useState(shownTheme);
  const other = theme === 'dark' ? 'light' : 'dark';
  return (
    <button
      type="button"
      className="bar-theme"
      onClick={() => {
        applyTheme(other);
        setTheme(other);
      }}
    >
      {other === 'dark' ? appWords.dark : appWords.light}
    </button>
  );
}

function WallClock(): ReactElement {
  const [now, setNow] = useState(() => new Date());
  useEffect(() => {
    const timer = setInterval(() => setNow(new Date()), 500);
    return () => clearInterval(timer);
  }, []);
  const two = (part: number): string => String(part).padStart(2, '0');
  return <time className="bar-time">{`${two(now.getHours())}:${two(now.getMinutes())}:${two(now.getSeconds())}`}</time>;
}
