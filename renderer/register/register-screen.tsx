import type { ReactElement } from 'react';
import { useCallback, useEffect, useState } from 'react';
import type { InstrumentHistory, RegisterAsk, RegisterView } from '../../src/bridge/register.ts';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { KeptCertificate, RegisteredEntry } from '../../src/calibration/register/register.ts';
import type { Certificate } from '../../src/model/certificate.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { Failure } from '../../src/bridge/snapshot.ts';
import type { Outcome } from '../ui/use-perform.ts';
import { registerWords as words } from '../words/register.ts';
import { CertificateForm } from './certificate-form.tsx';
import { InstrumentForm, PlaceForm, ReasonForm } from './entry-forms.tsx';
import { InstrumentPanel } from './instrument-panel.tsx';
import { RegisterList } from './register-list.tsx';
import { registerRows } from './register-rows.ts';
import '../rig/rig.css';
import '../rig/checks/checks.css';
import './register.css';

/** What the screen asks of the host and of the window. */
export interface RegisterActions {
  readonly view: () => Promise<Outcome<RegisterView>>;
  readonly history: (instrument: string) => Promise<Outcome<InstrumentHistory>>;
  readonly add: (asked: RegisterAsk) => Promise<Outcome<{ record: number }>>;
  readonly now: () => number;
}

/** What is being put down; null: an instrument is looked at. */
type Putting =
  | { readonly what: 'add' | 'correct' | 'place' | 'retire' }
  | { readonly what: 'certificate'; readonly like: Certificate | null }
  | { readonly what: 'withdraw'; readonly kept: KeptCertificate };

/** Every instrument of the laboratory with its certificates and what checks have shown of it. */
export function RegisterScreen(props: {
  readonly snapshot: Snapshot;
  readonly actions: RegisterActions;
}): ReactElement {
  const { actions, snapshot } = props;
  const [outcome, setOutcome] = useState<Outcome<RegisterView> | null>(null);
  const [chosen, setChosen] = useState<string | null>(null);
  const [putting, putDown] = useState<Putting | null>(null);
  const [read, setRead] = useState(0);
  const [stale, setStale] = useState<Failure | null>(null);
  const { history: askHistory, view: askView } = actions;
  const load = useCallback(async () => {
    const found = await askView();
    // What was read before stays when it cannot be read again: a form may be half filled in.
    setOutcome((before) => (found.done || before?.done !== true ? found : before));
    setStale(found.done ? null : found.failure);
    setRead((times) => times + 1);
  }, [askView]);
  // A rig that is opened is another place to work at.
  const rigName = snapshot.rig.state === 'open' ? (snapshot.rig.rig?.name ?? null) : null;
  useEffect(() => {
    void load();
  }, [load, rigName]);
  // Another window, or a command, may have put something down meanwhile.
  useEffect(() => {
    const again = (): void => void load();
    window.addEventListener('focus', again);
    return () => window.removeEventListener('focus', again);
  }, [load]);
  const now = actions.now();
  const { gone, here } = outcome?.done === true ? registerRows(outcome.value.instruments, now) : noRows;
  const all: readonly RegisteredEntry[] = [...here.map(({ entry }) => entry), ...gone];
  const entry = all.find(({ instrument }) => instrument === chosen) ?? all[0] ?? null;
  /** A form is of the instrument that it was opened for, wherever that comes to stand in the list. */
  const setPutting = (next: Putting | null): void => {
    if (next !== null && next.what !== 'add' && entry !== null) setChosen(entry.instrument);
    putDown(next);
  };
  const history = useHistory(askHistory, entry?.instrument ?? null, read);
  if (outcome === null) {
    return (
      <p className="app-waiting" role="status">
        {words.reading}
      </p>
    );
  }
  if (!outcome.done) {
    return (
      <main className="register register-alone">
        <section className="panel">
          <h1>{words.title}</h1>
          <FailureBlock failure={outcome.failure} />
          <Button lit onPress={() => void load()}>
            {words.readAgain}
          </Button>
        </section>
      </main>
    );
  }
  const { altered, rigs } = outcome.value;
  const form = {
    people: snapshot.people,
    here: snapshot.person?.code ?? null,
    async add(asked: RegisterAsk) {
      const added = await actions.add(asked);
      if (added.done && asked.entry.entry === 'instrument') setChosen(asked.entry.instrument);
      if (added.done) await load();
      return added;
    },
    onDone: () => setPutting(null),
    onBack: () => setPutting(null),
  };
  return (
    <main className="register">
      <RegisterList
        rows={here}
        gone={gone}
        altered={altered}
        chosen={putting?.what === 'add' ? null : (entry?.instrument ?? null)}
        lit={all.length === 0 && putting === null}
        now={now}
        underTrial={snapshot.trial !== null}
        onChoose={(instrument) => {
          setPutting(null);
          setChosen(instrument);
        }}
        onAdd={() => setPutting({ what: 'add' })}
        onReadAgain={() => void load()}
      />
      <section className="panel register-panel" tabIndex={0} aria-label={entry?.instrument ?? words.title}>
        {stale !== null && <FailureBlock failure={stale} />}
        {putting?.what === 'add' ? (
          <InstrumentForm {...form} known={null} />
        ) : entry === null ? (
          <p className="quiet">{words.choose}</p>
        ) : putting === null ? (
          <InstrumentPanel
            entry={entry}
            history={history}
            now={now}
            wanted={here.some(
              (row) =>
                row.entry.instrument === entry.instrument &&
                row.lines.some(({ standing }) => standing === 'expired' || standing === 'missing'),
            )}
            onEnter={() => setPutting({ what: 'certificate', like: null })}
            onPlace={() => setPutting({ what: 'place' })}
            onCorrect={() => setPutting({ what: 'correct' })}
            onRetire={() => setPutting({ what: 'retire' })}
            onWithdraw={(kept) => setPutting({ what: 'withdraw', kept })}
          />
        ) : putting.what === 'certificate' ? (
          <CertificateForm {...form} of={entry} like={putting.like} now={now} />
        ) : putting.what === 'correct' ? (
          <InstrumentForm {...form} known={entry} />
        ) : putting.what === 'place' ? (
          <PlaceForm {...form} of={entry} rigs={rigs} />
        ) : (
          <ReasonForm
            {...form}
            of={entry}
            withdrawn={putting.what === 'withdraw' ? putting.kept : null}
            onEnter={({ certificate }) => setPutting({ what: 'certificate', like: certificate })}
          />
        )}
      </section>
    </main>
  );
}

const noRows: ReturnType<typeof registerRows> = { here: [], gone: [] };

/** What was put down of an instrument; read again with the register. */
function useHistory(
  ask: RegisterActions['history'],
  instrument: string | null,
  read: number,
): Outcome<InstrumentHistory> | null {
  const [known, setKnown] = useState<{ of: string; outcome: Outcome<InstrumentHistory> } | null>(null);
  useEffect(() => {
    let here = true;
    if (instrument !== null) {
      void ask(instrument).then((outcome) => {
        if (here) setKnown({ of: instrument, outcome });
      });
    }
    return () => {
      here = false;
    };
  }, [ask, instrument, read]);
  return known !== null && known.of === instrument ? known.outcome : null;
}
