import type { ReactElement } from 'react';
import { useCallback, useEffect, useState } from 'react';
import type { AskedPort, LineAsk, LineView, OfferedPort, OfferedPorts } from '../../src/bridge/ports.ts';
import type { PortIdentity } from '../../src/device/port-identity.ts';
import { fittingPorts, portWords } from '../../src/device/port-identity.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { Icon } from '../ui/icon.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { portWords as words } from '../words/ports.ts';
import { answersNow, identityToTake, isToldApart, withAnswers } from './port-answers.ts';
import type { PortAnswers } from './port-answers.ts';
import './find-port.css';

/** What the forms ask of the host about ports. The same functions for as long as the screen is there. */
export interface PortActions {
  readonly offeredPorts: () => Promise<OfferedPorts>;
  /** Null when the host does not say: settings that are no settings, for instance. */
  readonly line: (ask: LineAsk) => Promise<LineView | null>;
  readonly askPorts: (ask: LineAsk, ports: readonly string[]) => Promise<Outcome<readonly AskedPort[]>>;
}

export interface KnownPorts {
  /** Null while they are being asked for. */
  readonly offered: OfferedPorts | null;
  readonly look: () => void;
}

/** The ports that the machine offers, asked for at once and again on `look`. */
export function useOfferedPorts(ask: () => Promise<OfferedPorts>): KnownPorts {
  const [offered, setOffered] = useState<OfferedPorts | null>(null);
  const look = useCallback(() => {
    void ask().then(setOffered);
  }, [ask]);
  useEffect(look, [look]);
  return { offered, look };
}

/**
 * The machine's ports: press one and it is taken, with what tells it from others. Those that are ticked can be asked
 * who is there; nothing is asked of a port that nobody has ticked, or that is in use.
 */
export function FindPort(props: {
  readonly known: KnownPorts;
  readonly ask: LineAsk | null;
  readonly line: LineView | null;
  readonly actions: PortActions;
  /** What is in the form: by its identity where it has one, else by its name. */
  readonly taken: { readonly path: string; readonly identity: PortIdentity | null };
  readonly onTake: (path: string, identity: PortIdentity | null) => void;
}): ReactElement {
  const { actions, ask, known, line } = props;
  const { offered } = known;
  // A tick is for the port that stood there when it was made.
  const [ticks, setTicks] = useState<{ readonly of: OfferedPorts | null; readonly paths: ReadonlySet<string> }>({
    ...{ of: null, paths: new Set() },
  });
  const ticked = ticks.of === offered ? ticks.paths : new Set<string>();
  const [kept, setKept] = useState<PortAnswers | null>(null);
  const answers = answersNow(kept, ask, offered);
  const { busy, failure, perform } = usePerform();
  const ports = offered?.ports ?? [];
  const chosen = ports.filter(({ path, usedBy }) => usedBy === null && ticked.has(path)).map(({ path }) => path);
  const recognised = line?.recognised ?? null;
  const { identity, path: typed } = props.taken;
  const fitting = identity === null ? null : fittingPorts(identity, ports);
  const isTaken = (port: OfferedPort): boolean =>
    fitting === null ? port.path === typed : fitting.some(({ path }) => path === port.path);
  const byNameOnly =
    identity === null ? ports.find((port) => port.path === typed && !isToldApart(port, ports)) : undefined;
  const tick = (path: string, on: boolean): void => {
    const next = new Set(ticked);
    if (on) next.add(path);
    else next.delete(path);
    setTicks({ of: offered, paths: next });
  };
  return (
    <fieldset className="offered">
      <legend>{words.offered}</legend>
      {offered?.note != null && <p className="quiet">{offered.note}</p>}
      <ul>
        {ports.map((port) => (
          <PortRow
            key={port.path}
            port={port}
            taken={isTaken(port)}
            ticked={recognised === null ? null : chosen.includes(port.path)}
            answer={answers.get(port.path) ?? null}
            onTick={(on) => {
              tick(port.path, on);
            }}
            onTake={() => {
              const told = answers.get(port.path)?.told ?? null;
              props.onTake(port.path, identityToTake(port, ports, told));
            }}
          />
        ))}
      </ul>
      {byNameOnly !== undefined && <p className="offered-warning">{words.onlyByName(byNameOnly.path)}</p>}
      {recognised !== null && ports.length > 0 && (
        <p className="offered-warning">
          {recognised.question === null ? (
            words.listens(recognised.limitSeconds)
          ) : (
            <>
              {words.writesBefore}
              <b className="wire">{recognised.question}</b>
              {words.writesAfter(recognised.limitSeconds)}
            </>
          )}
        </p>
      )}
      {line !== null && recognised === null && <p className="quiet">{words.notRecognised}</p>}
      {failure !== null && <FailureBlock failure={failure} />}
      <div className="row">
        {recognised !== null && ports.length > 0 && (
          <Button
            small
            disabled={busy || chosen.length === 0 || ask === null}
            onPress={() => {
              if (ask === null || offered === null) return;
              perform(async () => {
                const asked = await actions.askPorts(ask, chosen);
                if (asked.done) setKept((before) => withAnswers(before, ask, offered, asked.value));
                return asked;
              });
            }}
          >
            {busy ? words.asking : words.ask(chosen.length, recognised.question !== null)}
          </Button>
        )}
        <Button small onPress={known.look}>
          {words.lookAgain}
        </Button>
      </div>
    </fieldset>
  );
}

function PortRow(props: {
  readonly port: OfferedPort;
  readonly taken: boolean;
  /** Null: nothing can be asked. */
  readonly ticked: boolean | null;
  readonly answer: AskedPort | null;
  readonly onTick: (on: boolean) => void;
  readonly onTake: () => void;
}): ReactElement {
  const { answer, port, ticked } = props;
  const known = portWords(port);
  return (
    <li className={props.taken ? 'offered-row offered-taken' : 'offered-row'}>
      {ticked !== null && (
        <label className="offered-tick">
          <input
            type="checkbox"
            checked={ticked}
            disabled={port.usedBy !== null}
            aria-label={words.askThis(port.path)}
            onChange={(event) => {
              props.onTick(event.target.checked);
            }}
          />
        </label>
      )}
      <button type="button" className="offered-port" aria-pressed={props.taken} onClick={props.onTake}>
        <span className="wire">{port.path}</span>
        <span className="quiet">{known === '' ? words.nothingKnown : known}</span>
      </button>
      <span className="offered-said">
        {port.usedBy !== null ? (
          words.usedBy(port.usedBy)
        ) : answer === null ? null : answer.answer === 'recognised' ? (
          <>
            <Icon name="tick" /> {words.recognised(answer.told)} <span className="wire quiet">{answer.detail}</span>
          </>
        ) : (
          <span className="quiet">{words.notHere(answer.detail)}</span>
        )}
      </span>
    </li>
  );
}
