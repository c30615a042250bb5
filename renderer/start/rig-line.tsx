import type { ReactElement } from 'react';
import type { RigState } from '../../src/bridge/snapshot.ts';
import { Button } from '../ui/button.tsx';
import { Icon } from '../ui/icon.tsx';
import { startWords } from '../words/start.ts';
import type { StartActions } from './start-actions.ts';

/** The rig in one line: what is open and how much of it answers. */
export function RigLine({ rig, actions }: { readonly rig: RigState; readonly actions: StartActions }): ReactElement {
  const live = rig.instruments.filter(({ state }) => state === 'live').length;
  return (
    <div className="rig-line">
      <Icon name="plug" />
      <b>{rig.rig?.name ?? (rig.state === 'failed' ? startWords.rigFailed : startWords.noRig)}</b>
      <span className="grow quiet">
        {rig.rig !== null && rig.state === 'open'
          ? startWords.answering(rig.instruments.length, live)
          : (rig.failure?.what ?? startWords.noRigText)}
      </span>
      <Button small onPress={actions.toRig}>
        {startWords.toRig}
      </Button>
    </div>
  );
}
