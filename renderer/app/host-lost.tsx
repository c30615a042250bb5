import { useEffect, type ReactElement } from 'react';
import { contactLost, sound } from '../ui/sound.ts';
import { appWords } from '../words/app.ts';

/** The host has been silent for too long: the window says so over its full width, and is heard. */
export function HostLost(): ReactElement {
  useEffect(() => sound(contactLost), []);
  return (
    <div className="host-lost" role="alert">
      <p className="host-lost-head">{appWords.hostLost}</p>
      <p className="host-lost-act">{appWords.hostLostAct}</p>
      <p className="host-lost-more">{appWords.hostLostMore}</p>
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
    <main className="app-empty" role="alert">
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
    </main>
  );
}
