import type { ReactElement } from 'react';
import { useEffect, useState } from 'react';
import type { RigVersion } from '../../src/bridge/contract.ts';
import type { RigChange } from '../../src/model/rig-difference.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { ChoiceField } from '../ui/field.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { rigWords as words } from '../words/rig.ts';
import type { RigActions } from './rig-actions.ts';
import './rig-versions.css';

/** What changed between two versions of a rig, thing by thing; at first between the open one and the one before. */
export function RigVersions(props: {
  readonly name: string;
  /** Version that is open. */
  readonly open: number;
  readonly actions: Pick<RigActions, 'versions' | 'difference'>;
  readonly onBack: () => void;
}): ReactElement {
  const { name, open } = props;
  const { difference, versions: ask } = props.actions;
  const [versions, setVersions] = useState<Outcome<readonly RigVersion[]> | null>(null);
  const [chosen, setChosen] = useState<{ readonly from: number; readonly to: number } | null>(null);
  const [found, setFound] = useState<Outcome<{ readonly changes: readonly RigChange[] }> | null>(null);
  useEffect(() => {
    let here = true;
    void ask(name).then((outcome) => {
      if (!here) return;
      setVersions(outcome);
      if (!outcome.done) return;
      const before = outcome.value.find(({ version }) => version < open);
      // Newest first; the oldest one that is open is held against the newest.
      const newest = outcome.value[0]?.version ?? open;
      if (before !== undefined) setChosen({ from: before.version, to: open });
      else if (newest !== open) setChosen({ from: open, to: newest });
    });
    return () => {
      here = false;
    };
  }, [ask, name, open]);
  useEffect(() => {
    let here = true;
    setFound(null);
    if (chosen !== null) {
      void difference({ name, ...chosen }).then((outcome) => {
        if (here) setFound(outcome);
      });
    }
    return () => {
      here = false;
    };
  }, [chosen, difference, name]);
  const choices = (versions?.done === true ? versions.value : []).map(({ createdAt, version }) => ({
    value: String(version),
    text: words.versionOf(version, createdAt),
  }));
  const only = versions?.done === true && chosen === null;
  return (
    <main className="rig rig-versions">
      <section className="panel" aria-label={words.versionsTitle(name)} tabIndex={0}>
        <header>
          <h1>{words.versionsTitle(name)}</h1>
          <Button small hotkey="Esc" onPress={props.onBack}>
            {words.versionsBack}
          </Button>
        </header>
        {versions?.done === false && <FailureBlock failure={versions.failure} />}
        {only && <p className="quiet">{words.oneVersion}</p>}
        {chosen !== null && (
          <div className="rig-versions-choice">
            <ChoiceField
              label={words.versionFrom}
              value={String(chosen.from)}
              choices={choices}
              onChange={(version) => setChosen({ ...chosen, from: Number(version) })}
            />
            <ChoiceField
              label={words.versionTo}
              value={String(chosen.to)}
              choices={choices}
              onChange={(version) => setChosen({ ...chosen, to: Number(version) })}
            />
            <p role="status">{found?.done === true && words.changes(found.value.changes.length)}</p>
          </div>
        )}
        {found?.done === false && <FailureBlock failure={found.failure} />}
        {found?.done === true && found.value.changes.length > 0 && <Changes changes={found.value.changes} />}
        {chosen !== null && <p className="quiet">{words.versionsMore}</p>}
      </section>
    </main>
  );
}

/** One row for each thing; what belongs together stands under its name. */
function Changes({ changes }: { readonly changes: readonly RigChange[] }): ReactElement {
  return (
    <table>
      <thead>
        <tr>
          {words.changeHeadings.map((heading) => (
            <th key={heading} scope="col">
              {heading}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {changes.map(({ after, before, part, what }, index) => (
          <tr key={`${part} ${what}`}>
            <th scope="row">
              {/* Said once to the eye, and every time to those who hear it. */}
              <span className={changes[index - 1]?.part === part ? 'unseen' : undefined}>{part}</span>
            </th>
            <td>{what}</td>
            <td>{before ?? words.notThere}</td>
            <td>
              <b>{after ?? words.notThere}</b>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
