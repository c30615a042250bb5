import type { ReactElement } from 'react';
import { useState } from 'react';
import type { RigState, Snapshot } from '../../src/bridge/snapshot.ts';
import type { Rig } from '../../src/model/rig.ts';
import { Body } from '../ui/body.tsx';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { ChoiceField, TextField } from '../ui/field.tsx';
import { Icon } from '../ui/icon.tsx';
import { readNumber } from '../ui/read-number.ts';
import { usePerform } from '../ui/use-perform.ts';
import { VirtualTag } from '../ui/virtual-tag.tsx';
import { rigWords } from '../words/rig.ts';
import { startWords } from '../words/start.ts';
import { instrumentName } from './instrument-card.tsx';
import type { RigActions } from './rig-actions.ts';

/** While no rig is open: the rigs that are known, the virtual one, and setting one up. */
export function NoRig(props: {
  readonly snapshot: Snapshot;
  readonly actions: RigActions;
  readonly onSetUp: (template: Rig) => void;
}): ReactElement {
  const { snapshot, actions } = props;
  const { rig } = snapshot;
  const { busy, failure, perform } = usePerform();
  const own = snapshot.rigs;
  if (rig.state === 'opening' || rig.state === 'closing') return <Waiting rig={rig} />;
  return (
    <main className="rig no-rig">
      <section className="panel no-rig-head">
        <h1>{rigWords.closedTitle}</h1>
        <p className="quiet">{rigWords.closedText}</p>
        {rig.failure !== null && <FailureBlock failure={rig.failure} />}
        {failure !== null && <FailureBlock failure={failure} />}
      </section>
      <section className="panel no-rig-part" aria-label={rigWords.rigs}>
        <h2>{rigWords.rigs}</h2>
        {own.length === 0 && (
          <div className="no-rig-figure">
            <svg width="60" height="110" aria-hidden="true">
              <Body x={30} y={4} height={102} quiet />
            </svg>
            <p className="quiet">{rigWords.noRigs}</p>
          </div>
        )}
        <ul>
          {own.map(({ name, version, virtual }, index) => (
            <li key={name}>
              <div>
                <b>{name}</b>
                <span className="quiet">{rigWords.version(version)}</span>
                {virtual && <VirtualTag />}
              </div>
              <Button
                lit={index === 0}
                disabled={busy}
                onPress={() => {
                  perform(() => actions.open(name));
                }}
              >
                {rigWords.open(name)}
              </Button>
            </li>
          ))}
        </ul>
        <Button
          hotkey="E"
          disabled={busy}
          onPress={() => {
            perform(actions.template, props.onSetUp);
          }}
        >
          {rigWords.setUp}
        </Button>
      </section>
      <VirtualPart snapshot={snapshot} actions={actions} lit={own.length === 0} />
    </main>
  );
}

function VirtualPart(props: {
  readonly snapshot: Snapshot;
  readonly actions: RigActions;
  readonly lit: boolean;
}): ReactElement {
  const { scenarios } = props.snapshot;
  const { busy, failure, perform } = usePerform();
  const [chosen, setChosen] = useState('');
  const [seed, setSeed] = useState('');
  const [shown, setShown] = useState(false);
  const scenario = chosen === '' ? (scenarios[0]?.scenario ?? '') : chosen;
  const number = seed.trim() === '' ? null : readNumber(seed);
  const wrong = seed.trim() !== '' && (number === null || !Number.isInteger(number) || number < 0);
  return (
    <form
      className="panel no-rig-part"
      aria-label={rigWords.withoutInstruments}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        setShown(true);
        if (!wrong && scenario !== '') perform(() => props.actions.startVirtual(scenario, number));
      }}
    >
      <h2>
        {rigWords.withoutInstruments} <VirtualTag />
      </h2>
      <p className="quiet">{startWords.virtualText}</p>
      {failure !== null && <FailureBlock failure={failure} />}
      <ChoiceField
        label={rigWords.scenario}
        value={scenario}
        choices={scenarios.map((one) => ({
          value: one.scenario,
          text: startWords.scenarioChoice(one.label, one.durationSeconds),
        }))}
        onChange={setChosen}
      />
      <TextField
        label={rigWords.seed}
        hint={rigWords.seedHint}
        kind="number"
        value={seed}
        {...(shown && wrong ? { problem: { kind: 'not-whole' as const } } : {})}
        onChange={setSeed}
      />
      <Button submit lit={props.lit} disabled={busy || scenario === ''}>
        {rigWords.startVirtual}
      </Button>
    </form>
  );
}

/** While it opens or closes: what, and how far. */
function Waiting({ rig }: { readonly rig: RigState }): ReactElement {
  const live = rig.instruments.filter(({ state }) => state === 'live').length;
  const name = rig.rig?.name ?? rigWords.title;
  return (
    <main className="rig no-rig no-rig-waiting">
      <section className="panel no-rig-head" role="status">
        <h1>{rig.state === 'opening' ? rigWords.opening(name) : rigWords.closing(name)}</h1>
        <p className="quiet">{rigWords.openingText}</p>
        {rig.state === 'opening' && rig.instruments.length > 0 && (
          <>
            <progress value={live} max={rig.instruments.length} aria-label={rigWords.opening(name)} />
            <p>{rigWords.instrumentsLive(live, rig.instruments.length)}</p>
            <ul>
              {rig.instruments.map((one) => (
                <li key={one.instrument}>
                  <b>{instrumentName(one)}</b>
                  <span className="wire">{one.connection}</span>
                  <span className="card-state">
                    {one.state === 'live' && <Icon name="tick" />}
                    {rigWords.state[one.state]}
                  </span>
                </li>
              ))}
            </ul>
          </>
        )}
      </section>
    </main>
  );
}
