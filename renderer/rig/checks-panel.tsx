import type { ReactElement } from 'react';
import type { CheckResult, RigState } from '../../src/bridge/snapshot.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { Icon } from '../ui/icon.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { rigWords } from '../words/rig.ts';
import { newestOf } from './readiness.ts';

const checks = ['zero', 'span'] as const;

/** Zero and span: run, progress, the result beside its limits, and what was found before. */
export function ChecksPanel(props: {
  readonly checks: RigState['checks'];
  /** Whether a check can begin now. */
  readonly allowed: boolean;
  /** A reading with its unit. */
  readonly show: (reading: number) => string;
  readonly begin: (check: CheckResult['check']) => Promise<Outcome<unknown>>;
  readonly cancel: () => Promise<Outcome<unknown>>;
}): ReactElement {
  const { busy, failure, perform } = usePerform();
  const { running } = props.checks;
  const due = checks.find((check) => newestOf(props.checks.results, check)?.passed !== true);
  return (
    <section className="panel checks" tabIndex={0} aria-label={rigWords.checks}>
      <h2>{rigWords.checks}</h2>
      {failure !== null && <FailureBlock failure={failure} />}
      {checks.map((check) => (
        <article key={check} className={running?.check === check ? 'check check-running' : 'check'}>
          <header>
            <h3>{rigWords.check[check]}</h3>
            {running?.check !== check && <Verdict result={newestOf(props.checks.results, check)} />}
          </header>
          {running?.check === check ? (
            <Running
              running={running}
              busy={busy}
              onCancel={() => {
                perform(props.cancel);
              }}
            />
          ) : (
            <>
              <CheckText check={check} known={newestOf(props.checks.results, check) !== null} />
              <Button
                small
                lit={props.allowed && running === null && check === due}
                hotkey={check === 'zero' ? 'Z' : 'S'}
                disabled={!props.allowed || running !== null || busy}
                onPress={() => {
                  perform(() => props.begin(check));
                }}
              >
                {rigWords.run[check]}
              </Button>
              <Found results={props.checks.results.filter((one) => one.check === check)} show={props.show} />
            </>
          )}
        </article>
      ))}
      {!props.allowed && running === null && <p className="quiet">{rigWords.checksWait}</p>}
    </section>
  );
}

/** What a check is, until it has been seen once; what it puts at risk, always. */
function CheckText(props: { readonly check: CheckResult['check']; readonly known: boolean }): ReactElement | null {
  const { check, known } = props;
  const texts = [known ? '' : rigWords.checkText[check], check === 'span' ? rigWords.challengeAir : ''];
  const text = texts.filter((part) => part !== '').join(' ');
  return text === '' ? null : <p className="quiet">{text}</p>;
}

function Verdict({ result }: { readonly result: CheckResult | null }): ReactElement {
  if (result === null) return <span className="flag">{rigWords.notRun}</span>;
  return result.passed ? (
    <span className="verdict">
      <Icon name="tick" />
      {rigWords.passed}
    </span>
  ) : (
    <span className="flag">
      <Icon name="cross" />
      {rigWords.failed}
    </span>
  );
}

function Running(props: {
  readonly running: NonNullable<RigState['checks']['running']>;
  readonly busy: boolean;
  readonly onCancel: () => void;
}): ReactElement {
  const { check, stage, secondsLeft, secondsInAll } = props.running;
  const done = secondsInAll > 0 ? Math.min(Math.max(1 - secondsLeft / secondsInAll, 0), 1) : 0;
  return (
    <>
      <p className="check-left">{rigWords.secondsLeft(secondsLeft)}</p>
      <p>{rigWords.stage[stage]}</p>
      <progress value={done} max={1} aria-label={rigWords.runningNow(check)} />
      <Button small hotkey="X" disabled={props.busy} onPress={props.onCancel}>
        {rigWords.cancelCheck}
      </Button>
    </>
  );
}

/** The newest result with its place between the limits, and the earlier ones. */
function Found(props: {
  readonly results: readonly CheckResult[];
  readonly show: (reading: number) => string;
}): ReactElement | null {
  const ordered = [...props.results].sort((one, other) => (one.at < other.at ? 1 : -1));
  const newest = ordered[0];
  if (newest === undefined) return null;
  const earlier = ordered.slice(1);
  return (
    <div className="found">
      <p className="found-value">{props.show(newest.meanReading)}</p>
      <LimitBar result={newest} />
      <p className="quiet">{rigWords.limits(props.show(newest.lowLimit), props.show(newest.highLimit))}</p>
      <p className="quiet">{rigWords.spread(props.show(newest.deviationReading), newest.readings)}</p>
      <p>{newest.detail}</p>
      <p className="quiet">{rigWords.doneBy(newest.at, newest.person)}</p>
      {earlier.length > 0 && (
        <div className="found-earlier">
          <h4>{rigWords.earlier}</h4>
          <ul>
            {earlier.map((result) => (
              <li key={result.at}>
                <span>{rigWords.doneBy(result.at, result.person)}</span>
                <b>{props.show(result.meanReading)}</b>
                <span>{result.passed ? rigWords.passed : rigWords.failed}</span>
              </li>
            ))}
          </ul>
        </div>
      )}
    </div>
  );
}

/** The result as a mark on a line on which the allowed stretch is heavy. */
function LimitBar({ result }: { readonly result: CheckResult }): ReactElement {
  const span = result.highLimit - result.lowLimit;
  const low = result.lowLimit - span / 2;
  const share = span > 0 ? (result.meanReading - low) / (2 * span) : 0.5;
  const at = Math.min(Math.max(share, 0.01), 0.99) * 240;
  return (
    <svg className="limit-bar" viewBox="0 0 240 20" width="240" height="20" aria-hidden="true">
      <path className="limit-line" d="M0 10H240" />
      <path className="limit-range" d="M60 10H180" />
      <path className="limit-ends" d="M60 4V16M180 4V16" />
      <circle className={result.passed ? 'limit-mark' : 'limit-mark limit-mark-out'} cx={at} cy="10" r="6" />
    </svg>
  );
}
