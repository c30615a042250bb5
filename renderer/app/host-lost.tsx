import { useEffect, type ReactElement } from 'react';
import { warn } from '../ui/sound.ts';
import { appWords } from '../words/app.ts';

/** The host has been silent for too long: the window says so over its full width, and is heard. */
export function HostLost(): ReactElement {
  useEffect(() => warn(), []);
  return (
    <div className="host-lost" role="alert">
      <p className="host-lost-head">{appWords.hostLost}</p>
      <p className="host-lost-act">{appWords.hostLostAct}</p>
      <p className="host-lost-more">{appWords.hostLostMore}</p>
    </div>
  );
}

/** The door does not know this window: nothing that it shows can be trusted, so it shows nothing else. */
export function RefusedWindow(): ReactElement {
  return (
    <main className="app-empty" role="alert">
      <h1>{appWords.refusedTitle}</h1>
      <p>{appWords.refusedWhat}</p>
      <p>
        <b>{appWords.refusedAct}</b>
      </p>
    </main>
  );
}
