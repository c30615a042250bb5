import type { ReactElement } from 'react';
import type { Failure } from '../../src/bridge/snapshot.ts';
import { failureWords, remedyWords } from '../words/failures.ts';
import { Icon } from './icon.tsx';
import './failure-block.css';

/** Addresses of the places where things are put right; a block knows no routes of the frame around it. */
const places = { person: '#/person', rig: '#/rig' } as const;

/** A refusal or failure: what, where, what to do, and the way there. The code is for whoever looks into the page. */
export function FailureBlock({ failure }: { readonly failure: Failure }): ReactElement {
  const { what, where, act, at } = failureWords(failure);
  const away = at !== null && window.location.hash !== places[at];
  return (
    <div className="failure" role="alert" data-code={failure.code}>
      <Icon name="break" />
      <p>
        <b>{what}</b> {where !== null && <span className="wire">{where}</span>}
        <br />
        {act} {away && <a href={places[at]}>{remedyWords[at]}</a>}
      </p>
    </div>
  );
}
