import type { ReactElement } from 'react';
import { useState } from 'react';
import type { ConnectionSettings, Snapshot } from '../../src/bridge/snapshot.ts';
import type { Rig } from '../../src/model/rig.ts';
import { usePerform } from '../ui/use-perform.ts';
import type { Chosen } from './checks/desk-state.ts';
import { NoRig } from './no-rig.tsx';
import { OpenRig } from './open-rig.tsx';
import type { LiveReadings, RigActions } from './rig-actions.ts';
import { RigEditor } from './rig-editor.tsx';
import './rig.css';

/** The rig: what is open, or the ways to open one, or one that is being set up. */
export function RigScreen(props: {
  readonly snapshot: Snapshot;
  /** A check that is looked at; null: the rig as a whole. */
  readonly chosen: { readonly check: string; readonly subject: string | null } | null;
  readonly onChoose: (chosen: Chosen | null) => void;
  readonly actions: RigActions;
  readonly live: LiveReadings;
}): ReactElement {
  const { snapshot, actions } = props;
  const { rig } = snapshot;
  const [edited, setEdited] = useState<{ readonly rig: Rig; readonly first: boolean } | null>(null);
  const { busy, failure, perform, forget } = usePerform();
  if (edited !== null) {
    const connections = new Map<string, ConnectionSettings>();
    for (const { instrument, settings } of rig.instruments)
      if (settings !== null) connections.set(instrument, settings);
    return (
      <main className="rig">
        <RigEditor
          rig={edited.rig}
          first={edited.first}
          streams={rig.streams}
          connections={edited.first ? new Map() : connections}
          ports={actions}
          askDialects={actions.dialects}
          busy={busy}
          failure={failure}
          onSave={(changed, said) => {
            perform(
              () => actions.saveAndOpen(changed, said),
              () => {
                setEdited(null);
              },
            );
          }}
          onCancel={() => {
            forget();
            setEdited(null);
          }}
        />
      </main>
    );
  }
  if (rig.state === 'open' && rig.rig !== null) {
    const open = rig.rig;
    return (
      <OpenRig
        snapshot={snapshot}
        rig={open}
        chosen={props.chosen}
        onChoose={props.onChoose}
        actions={actions}
        live={props.live}
        onChange={() => {
          setEdited({ rig: open, first: false });
        }}
      />
    );
  }
  return (
    <NoRig
      snapshot={snapshot}
      actions={actions}
      onSetUp={(template) => {
        setEdited({ rig: template, first: true });
      }}
    />
  );
}
