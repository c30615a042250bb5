import { useEffect, type ReactElement } from 'react';
import { contactLost, sound } from '../ui/sound.ts';
import { appWords } from '../words/app.ts';
import { goneRetryMilliseconds } from './retry.ts';

/**
 * The host has been silent for too long: the window says so over its full width, and is heard.
 * @param props.gone it has ended for all that can be told: this window waits for nothing.
 * @param props.inTrial a trial was under way when it was last heard: somebody may be exerting.
 */
export function HostLost(props: { readonly gone: boolean; readonly inTrial: boolean }): ReactElement {
  const { gone, inTrial } = props;
  useEffect(() => sound(contactLost), []);
  return (
    <div className={gone ? 'host-lost host-gone' : 'host-lost'} role="alert">
      <p className="host-lost-head">{gone ? appWords.hostGone : appWords.hostLost}</p>
      {inTrial && <p className="host-lost-act">{appWords.hostLostAct}</p>}
      <p className="host-lost-more">
        {gone ? appWords.hostGoneMore(inTrial, goneRetryMilliseconds / 1000) : appWords.hostLostMore}
      </p>
    </div>
  );
}

/**
 * The door does not know this window: nothing that it shows can be trusted, so it shows nothing else.
 * @param props.inTrial this window was showing a trial: somebody may be exerting whom nobody sees.
 */
export function RefusedWindow({ inTrial }: { readonly inTrial: boolean }): ReactElement {
  useEffect(() => (inTrial ? sound(contactLost) : undefined), [inTrial]);
  return (
    <main>
      <div className="app-empty" role="alert">
        <h1>{appWords.refusedTitle}</h1>
        {inTrial && (
          <p>
            <b>{appWords.hostLostAct}</b>
          </p>
        )}
        <p>{appWords.refusedWhat}</p>
        <p>
          <b>{appWords.refusedAct}</b>
        </p>
      </div>
    </main>
  );
}
