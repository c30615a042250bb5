import type { ReactElement } from 'react';
import type { Failure } from '../../src/bridge/snapshot.ts';
import { Icon } from './icon.tsx';
import './failure-block.css';

/** A refusal or failure: what, where, what to do. The code stands small at the end. */
export function FailureBlock({ failure }: { readonly failure: Failure }): ReactElement {
  return (
    <div className="failure" role="alert">
      <Icon name="break" />
      <p>
        <b>{failure.what}</b> <span className="wire">{failure.where}</span>
        <br />
        {failure.remedy} <small>{failure.code}</small>
      </p>
    </div>
  );
}
