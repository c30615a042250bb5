import Database from 'better-sqlite3';
import { expect } from 'vitest';
import { openTruthEnd } from './truth-end.ts';
import { readTrial, readWire, listUnfinishedTrials } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { chamberside, startChamberside } from './command-line.ts';
import { agreement, type Agreement, type PrintedRehearsal } from './rehearsal.ts';

interface Progress {
  readonly trial: string;
  readonly link: number;
  readonly throughMicroseconds: number;
}

/** Whatever else is printed beside, a warning of the runtime for one. */
function isProgress(line: string | undefined): line is string {
  return line?.startsWith('{') === true;
}

/** What a killed rehearsal left behind and how it went on, all read back from files. */
export interface KillOutcome {
  readonly acknowledgedMicroseconds: number;
  readonly storedMicroseconds: number;
  readonly agreement: Agreement;
}

/** Longest stretch of a trial that may be in memory only, µs. */
const openMicroseconds = 1_500_000;

/**
 * Kills a rehearsal with SIGKILL once this many commits have been reported and a little later, reads the file back,
 * and lets the trial go on to its end.
 */
export async function killAndResume(
  study: string,
  options: {
    readonly afterLinks: number;
    readonly delayMilliseconds: number;
    readonly seed: number;
    readonly scenario: string;
  },
): Promise<KillOutcome> {
  const { child, ended } = startChamberside([
    'rehearse',
    '--study',
    study,
    '--seed',
    String(options.seed),
    '--scenario',
    options.scenario,
    '--progress',
    '--json',
  ]);
  let last: Progress | null = null;
  let pending = '';
  child.stderr?.on('data', (text: string) => {
    pending += text;
    const lines = pending.split('\n');
    pending = lines.pop() ?? '';
    for (const line of lines) if (isProgress(line)) last = JSON.parse(line) as Progress;
    if (last !== null && last.link >= options.afterLinks && !child.killed) {
      setTimeout(() => child.kill('SIGKILL'), options.delayMilliseconds);
    }
  });
  const outcome = await ended;
  expect(outcome.signal, 'the rehearsal must be under way when it is killed').toBe('SIGKILL');
  const acknowledged = last as Progress | null;
  if (acknowledged === null) throw new Error('no commit was reported before the kill');

  const [unfinished] = listUnfinishedTrials(study);
  if (unfinished === undefined) throw new Error('the killed trial is not in the study');
  expect(unfinished.trial).toBe(acknowledged.trial);
  expect(unfinished.lastLink).toBeGreaterThanOrEqual(acknowledged.link);
  expect(unfinished.throughMicroseconds).toBeGreaterThanOrEqual(acknowledged.throughMicroseconds);
  // The rig's own record says how far the trial had come: no more than the open chunk may be missing.
  const truthEnd = openTruthEnd(`${study.replace(/\.chamberside$/, '')}.${unfinished.trial}.truth`);
  expect(truthEnd - unfinished.throughMicroseconds).toBeLessThanOrEqual(openMicroseconds);
  expect(verify(study).findings.filter((finding) => finding.severity === 'bad')).toEqual([]);
  const before = readTrial(study, unfinished.trial);
  const photometer = before.streams[0]?.atMicroseconds ?? new Float64Array();
  const stored = photometer.filter((at) => at < acknowledged.throughMicroseconds).length;
  // The photometer prints every 50 ms from the beginning on: every reading of the acknowledged time is there.
  expect(stored).toBeGreaterThanOrEqual(Math.floor(acknowledged.throughMicroseconds / 50_000) - 1);

  const goingOn = await chamberside('rehearse', '--study', study, '--resume', '--json');
  const resumed = JSON.parse(goingOn.stdout) as PrintedRehearsal;
  // A kill that doubts every cell of a short series leaves nothing to agree with the truth, and the command says so.
  expect(goingOn.status).toBe(resumed.cells.some((cell) => !cell.flagged) ? 0 : 1);
  expect(resumed.trialId).toBe(unfinished.trial);
  const record = readTrial(study, unfinished.trial);
  expect(record.segments.map((segment) => segment.reason)).toEqual(['start', 'restart']);
  const begunAgain = record.segments[1]?.beginsAtMicroseconds ?? 0;
  const held = record.events.filter((event) => event.kind === 'phase-changed' && event.to === 'held');
  const wentOn = record.events.find(
    (event) => event.kind === 'phase-changed' && event.from === 'held' && event.to === 'running',
  );
  expect(held).toHaveLength(1);
  expect(held[0]?.atMicroseconds).toBeLessThanOrEqual(begunAgain);
  expect(wentOn?.atMicroseconds ?? 0).toBeGreaterThan(begunAgain);
  expect(record.events.some((event) => event.kind === 'phase-changed' && event.to === 'closed')).toBe(true);
  expectTotals(study, resumed);
  expect(resumed.cells.every((cell) => cell.windowPercent !== null)).toBe(true);
  const report = verify(study);
  expect(report.intact).toBe(true);
  expect(report.trials.every((trial) => trial.sealed)).toBe(true);
  return {
    acknowledgedMicroseconds: acknowledged.throughMicroseconds,
    storedMicroseconds: unfinished.throughMicroseconds,
    agreement: agreement(resumed.cells, `killed after ${options.afterLinks}`),
  };
}

/** What is printed after going on must be of the whole trial: counted here in the file, table by table. */
function expectTotals(study: string, resumed: PrintedRehearsal): void {
  const file = new Database(study, { readonly: true });
  const total = (sql: string): number => file.prepare<[], { total: number }>(sql).get()?.total ?? 0;
  const events = (kind: string): number => total(`SELECT count(*) AS total FROM event WHERE kind = '${kind}'`);
  expect(resumed.counts).toEqual({
    readings: total('SELECT sum(count) AS total FROM chunk'),
    problems: events('problem') + events('port-unconfirmed'),
    events: total('SELECT count(*) AS total FROM event'),
    dwells: events('dwell-began'),
    alarms: events('alarm-raised'),
    links: total('SELECT count(*) AS total FROM link'),
  });
  file.close();
  for (const [instrument, account] of Object.entries(resumed.bytes)) {
    const wire = readWire(study, resumed.trialId, instrument);
    const bytes = (direction: 'in' | 'out'): number =>
      wire.filter((entry) => entry.direction === direction).reduce((sum, entry) => sum + entry.bytes.length, 0);
    expect(account).toEqual({ received: bytes('in'), accounted: bytes('in'), sent: bytes('out') });
  }
}

/** Runs a rehearsal and kills it with SIGKILL at once when this link has been reported. */
export async function killAt(words: readonly string[], link: number): Promise<void> {
  const { child, ended } = startChamberside([...words, '--progress', '--json']);
  let text = '';
  child.stderr?.on('data', (more: string) => {
    text += more;
    const last = text.split('\n').at(-2);
    if (isProgress(last) && (JSON.parse(last) as Progress).link >= link) child.kill('SIGKILL');
  });
  expect((await ended).signal, 'the rehearsal must be under way when it is killed').toBe('SIGKILL');
}
