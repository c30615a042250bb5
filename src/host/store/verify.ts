import type { Identifier } from '../../model/identity.ts';
import { canonicalJson } from './canonical-json.ts';
import { assessmentDigest, frozenDigest, readSealBody, studyDigest } from './chain.ts';
import type { Finding, VerifiedRelease, VerifiedTrial, VerifyReport } from './contract.ts';
import { expectedSchema, openForReading, schemaOf, sqliteCode } from './database.ts';
import type { Connection } from './database.ts';
import { equalBytes, sha256, toHexadecimal } from './digest.ts';
import { allTrials, hasSignatures, hasVoidings, lastLink, phaseOf } from './trial-rows.ts';
import type { TrialRow } from './trial-rows.ts';
import { gapBetween, nameGap } from './number-gap.ts';
import { checkSignatures } from './verify-signatures.ts';
import { verifyTrial } from './verify-trial.ts';
import { checkVoidings } from './verify-voidings.ts';
import type { Seal } from './verify-trial.ts';

/** What an intact file does not prove; part of every report. */
const notCovered: readonly string[] = [
  'Whoever can write the file can also compute a new chain over altered data. ' +
    'Compare the heads with those printed in a report.',
  'The last sealed trials, removed together with their seals and with a rewritten study row, leave no trace in the ' +
    'file itself. Compare the head of the seals with the one printed in a report.',
  'A trial that is not sealed may have lost its end; an unsealed trial that was the last one may be gone altogether.',
  'Assessments are protected one by one and numbered: those that were made last leave no trace when they are gone.',
  'Decisions that make a trial void or take that back are numbered and counted in the study row: those that were ' +
    'made last leave no trace when they are gone and that row is rewritten.',
  'Signatures are numbered, chained and counted in the study row: those that were made last leave no trace when they ' +
    'are gone and that row is rewritten. Compare the head of the signatures with the one told when they were made.',
  'A signature shows that somebody knew a PIN, not who sat at the keyboard; the time is the computer’s; a key signs ' +
    'for whoever holds it. That the instruments were right is signed by nobody.',
  'When a trial was entered in the list of trials is not part of its chain; its first segment says when it began.',
  'It is proven that readings are as they were recorded, not that they were right, nor that the wire bytes decode ' +
    'into them.',
  'Wall-clock times and names of persons are what the recording computer was told.',
];

interface StudyRow {
  readonly only: number;
  readonly study: Identifier;
  readonly name: string;
  readonly created_at: string;
  readonly genesis: Uint8Array;
  readonly seal_count: number;
  readonly seal_head: Uint8Array;
  /** Absent in files of version 1. */
  readonly voidings?: number;
  /** Absent before version 3. */
  readonly signatures?: number;
  readonly signature_head?: Uint8Array;
}

/**
 * Walks everything in a study file and says what is wrong and where. Reads only; the file may be a read-only copy.
 * @param only one trial: seals and assessments of all, but the chain of this one, and no integrity check, whose length
 *   is that of the file. @param onTrial how many trials have been walked, and of how many.
 * @throws ChambersideError `file-not-found`, `file-not-ours`, `file-newer`; damage is a finding, not an error.
 */
export function verify(path: string, only?: string, onTrial?: (done: number, of: number) => void): VerifyReport {
  const findings: Finding[] = [];
  const report = {
    study: null as VerifyReport['study'],
    sealHead: null as string | null,
    signatureHead: null as string | null,
    trials: [] as VerifiedTrial[],
    releases: [] as VerifiedRelease[],
  };
  const damage = (error: unknown, trial: Identifier | null): void => {
    if (sqliteCode(error) === null) throw error;
    findings.push(bad('database-damaged', (error as Error).message, trial));
  };
  let connection: Connection;
  try {
    connection = openForReading('study', path);
  } catch (error) {
    if ((error as { code?: unknown }).code !== 'file-damaged') throw error;
    findings.push(bad('database-damaged', (error as Error).message));
    return { intact: false, ...report, findings, notCovered };
  }
  try {
    connection.exec('BEGIN');
    if (only === undefined) checkDatabase(connection, findings);
    const [study, ...others] = connection.prepare<[], StudyRow>('SELECT * FROM study ORDER BY only').all();
    if (study === undefined) findings.push(bad('study-altered', 'The study row is not there.'));
    else {
      // Said here as well, because an integrity check passes over what a schema demands of a row's own number.
      if (study.only !== 1) findings.push(bad('study-altered', 'The study row does not stand in its place.'));
      if (others.length > 0) findings.push(bad('study-altered', 'There is more than one study row.'));
      report.study = { study: study.study, name: study.name, createdAt: study.created_at };
      report.sealHead = toHexadecimal(study.seal_head);
      if (!equalBytes(studyDigest(study.study, study.name, study.created_at), study.genesis)) {
        findings.push(bad('study-altered', 'Identifier, name or time of the study are not those it was created with.'));
      }
    }
    const rows = allTrials(connection);
    const { seals, missing } = checkSeals(connection, study, findings);
    for (const [done, row] of rows.entries()) {
      onTrial?.(done, rows.length);
      if (only !== undefined && row.trial !== only) continue;
      const seal = seals.get(row.trial) ?? null;
      try {
        const sealGone = seal === null && missing > 0 && cameToItsEnd(connection, row, path);
        report.trials.push(verifyTrial(connection, row, { seal, sealGone }, study?.genesis ?? null, findings));
      } catch (error) {
        damage(error, row.trial);
      }
    }
    checkTrialsThere(connection, rows, findings);
    checkAssessments(connection, findings);
    const decided = study?.voidings ?? 0;
    if (hasVoidings(connection)) checkVoidings(connection, decided, findings);
    else if (decided > 0) findings.push(bad('voiding-missing', `All ${decided} voidings are not there.`));
    if (study !== undefined) Object.assign(report, checkSignatures(connection, study, findings));
  } catch (error) {
    damage(error, null);
  } finally {
    connection.close();
  }
  return { intact: findings.every((finding) => finding.severity !== 'bad'), ...report, findings, notCovered };
}

function bad(code: Finding['code'], text: string, trial: Identifier | null = null): Finding {
  return { severity: 'bad', code, trial, link: null, second: null, text };
}

function checkDatabase(connection: Connection, findings: Finding[]): void {
  const rows = connection.pragma('integrity_check(20)') as { integrity_check: string }[];
  for (const { integrity_check: text } of rows) if (text !== 'ok') findings.push(bad('database-damaged', text));
  checkOwners(connection, findings);
  const found = schemaOf(connection);
  const expected = expectedSchema('study', connection.pragma('user_version', { simple: true }) as number);
  for (const entry of expected.filter((line) => !found.includes(line))) {
    findings.push(bad('schema-altered', `Not as it was created: ${entry.split(' ').slice(0, 2).join(' ')}.`));
  }
  for (const entry of found.filter((line) => !expected.includes(line))) {
    findings.push(bad('schema-altered', `Not part of this version: ${entry.split(' ').slice(0, 2).join(' ')}.`));
  }
}

/** Rows that belong to a trial or an assessment that is not there: nobody would ever come across them. */
function checkOwners(connection: Connection, findings: Finding[]): void {
  const rows = connection
    .prepare<[], { owned: string; owner: string; count: number }>(
      `SELECT "table" AS owned, parent AS owner, count(*) AS count FROM pragma_foreign_key_check
       GROUP BY owned, owner ORDER BY owned, owner`,
    )
    .all();
  for (const { owned, owner, count } of rows) {
    findings.push(bad('row-stray', `${count} row(s) of ${owned} belong to no ${owner} that is there.`));
  }
}

interface SealRow {
  readonly seal: number;
  readonly trial: Identifier;
  readonly links: number;
  readonly head: Uint8Array;
  readonly sealed_at: string;
  readonly body: Uint8Array;
  readonly digest: Uint8Array;
}

/** Walks the chain of seals. @returns the seals by trial, and how many are not there. */
function checkSeals(
  connection: Connection,
  study: StudyRow | undefined,
  findings: Finding[],
): { readonly seals: Map<string, Seal>; readonly missing: number } {
  const rows = connection.prepare<[], SealRow>('SELECT * FROM seal ORDER BY seal').all();
  const seals = new Map<string, Seal>();
  const missing = Math.max(rows.at(-1)?.seal ?? 0, study?.seal_count ?? 0) - rows.length;
  let before: Pick<SealRow, 'seal' | 'digest'> & Partial<SealRow> | null =
    study === undefined ? null : { seal: 0, digest: study.genesis };
  for (const row of rows) {
    seals.set(row.trial, { seal: row.seal, links: row.links, head: row.head });
    nameGap(gapBetween(before?.seal ?? row.seal - 1, row.seal), (from, to) => {
      const what = from === to ? `Seal ${from} of the study is` : `Seals ${from} to ${to} of the study are`;
      const last = to === row.seal - 1 ? previousOf(row) : null;
      findings.push(bad('seal-missing', `${what} not there. ${whatItSealed(before, row, last)}`));
    });
    const reason = sealProblem(row, study, before);
    if (reason !== null) findings.push(bad('seal-altered', `Seal ${row.seal}: ${reason}.`, row.trial));
    before = row;
  }
  if (study !== undefined && before !== null) {
    nameGap(gapBetween(before.seal, study.seal_count + 1), (from, to) => {
      const what =
        from === to ? `Seal ${from}, of the end of the chain, is` : `Seals ${from} to ${to}, of the end, are`;
      const last = to === study.seal_count ? study.seal_head : null;
      findings.push(bad('seal-missing', `${what} not there. ${whatItSealed(before, null, last)}`));
    });
    if (
      before.seal > study.seal_count ||
      (before.seal === study.seal_count && !equalBytes(before.digest, study.seal_head))
    ) {
      findings.push(
        bad('study-altered', 'Count and head of the seals in the study row are not those of the chain of seals.'),
      );
    }
  }
  return { seals, missing };
}

/** Digest of the seal before this one, as this one took it; null where it cannot be read. */
function previousOf(row: SealRow): Uint8Array | null {
  try {
    return readSealBody(row.body).previous;
  } catch {
    return null;
  }
}

/** What is known of a trial whose seal is gone: its neighbours, and the digest by which its report can be told. */
function whatItSealed(before: Partial<SealRow> | null, after: SealRow | null, digest: Uint8Array | null): string {
  const told = [
    ...(before?.trial === undefined ? [] : [`after ${before.trial} (${before.sealed_at})`]),
    ...(after === null ? [] : [`before ${after.trial} (${after.sealed_at})`]),
  ];
  const when = `What it sealed was sealed ${told.length === 0 ? 'in this study' : told.join(' and ')}.`;
  if (digest === null) return when;
  return `${when} The report of that trial prints this as the head of the seals: ${toHexadecimal(digest)}.`;
}

/** Trials that a seal or an assessment names, or that a number stands for, and that are not there. */
function checkTrialsThere(connection: Connection, trials: readonly TrialRow[], findings: Finding[]): void {
  const present = new Set<string>(trials.map((row) => row.trial));
  const gone = new Map<Identifier, string>();
  const mention = (sql: string): void => {
    for (const { trial, text } of connection.prepare<[], { trial: Identifier; text: string }>(sql).all()) {
      if (!present.has(trial) && !gone.has(trial)) gone.set(trial, text);
    }
  };
  mention("SELECT trial, 'was sealed as number ' || seal AS text FROM seal ORDER BY seal");
  if (hasVoidings(connection)) mention("SELECT trial, 'was made void' AS text FROM voiding ORDER BY number");
  if (hasSignatures(connection)) mention("SELECT trial, 'was signed' AS text FROM signature ORDER BY number");
  mention("SELECT trial, 'was assessed (' || assessment || ')' AS text FROM assessment ORDER BY number");
  for (const [trial, text] of gone) {
    findings.push(bad('trial-missing', `Trial ${trial} ${text} and is not there.`, trial));
  }
  checkTrialNumbers(connection, trials, gone.size, findings);
}

/**
 * Whether a trial without a seal was recorded to its end, after which it is sealed: by its last phase, or because an
 * assessment took its whole chain. Asked only where seals are missing; a trial still going on is not meant.
 */
function cameToItsEnd(connection: Connection, { number, trial }: TrialRow, path: string): boolean {
  const head = lastLink(connection, number)?.digest ?? new Uint8Array(0);
  const assessed = connection
    .prepare<[string], { head: Uint8Array }>('SELECT trial_head AS head FROM assessment WHERE trial = ?')
    .all(trial);
  if (assessed.some((row) => equalBytes(row.head, head))) return true;
  try {
    const phase = phaseOf(connection, number, path);
    return phase === 'closed' || phase === 'stopped';
  } catch {
    // An event that cannot be read is a finding of its own.
    return false;
  }
}

function sealProblem(
  row: SealRow,
  study: StudyRow | undefined,
  before: { seal: number; digest: Uint8Array } | null,
): string | null {
  if (!equalBytes(sha256(row.body), row.digest)) return 'it does not match its digest';
  try {
    const body = readSealBody(row.body);
    const same =
      body.seal === row.seal &&
      body.trial === row.trial &&
      body.links === row.links &&
      body.sealedAt === row.sealed_at &&
      equalBytes(body.head, row.head) &&
      (study === undefined || body.study === study.study);
    if (!same) return 'its columns are not what was sealed';
    if (before !== null && before.seal === row.seal - 1 && !equalBytes(body.previous, before.digest)) {
      return 'it does not continue the seal before it';
    }
    return null;
  } catch (error) {
    return (error as Error).message;
  }
}

/** Gaps in the numbers of trials that are told one by one. */
const mostGapsTold = 10;

/** Trials are numbered without gaps and never deleted, so a gap that nothing names is a trial gone with its seal. */
function checkTrialNumbers(
  connection: Connection,
  trials: readonly TrialRow[],
  named: number,
  findings: Finding[],
): void {
  const highest =
    connection
      .prepare<[], { number: number }>('SELECT coalesce(max(trial), 0) AS number FROM link')
      .get()?.number ?? 0;
  const gaps: string[] = [];
  let missing = 0;
  let before: TrialRow | null = null;
  for (const row of [...trials.filter(({ number }) => number >= 1), null]) {
    const gap = gapBetween(before?.number ?? 0, row?.number ?? highest + 1);
    if (gap !== null) {
      missing += gap.to - gap.from + 1;
      const told = [
        ...(before === null ? [] : [`after ${before.trial} (${before.created_at})`]),
        ...(row === null ? [] : [`before ${row.trial} (${row.created_at})`]),
      ];
      const begun = told.length === 0 ? '' : `, begun ${told.join(' and ')}`;
      gaps.push(`${gap.from === gap.to ? `number ${gap.from}` : `numbers ${gap.from} to ${gap.to}`}${begun}`);
    }
    before = row;
  }
  if (missing <= named) return;
  const rest = gaps.length > mostGapsTold ? `; and ${gaps.length - mostGapsTold} more gaps` : '';
  findings.push(
    bad(
      'trial-missing',
      `${missing - named} trial(s) that no seal and no assessment names are not there. Missing among the trials: ` +
        `${gaps.slice(0, mostGapsTold).join('; ')}${rest}.`,
    ),
  );
}

/** A row of `cell`, its columns under the names that they have in the whole assessment. */
type CellRow = Record<string, unknown> & { readonly position: number; readonly flags: string };

interface AssessmentRow {
  readonly number: number;
  readonly assessment: string;
  readonly trial: Identifier;
  readonly json: string;
  readonly digest: Uint8Array;
  readonly program: string;
  readonly created_at: string;
  readonly method_name: string;
  readonly method_version: number;
  readonly method_digest: Uint8Array;
  readonly trial_head: Uint8Array;
}

function checkAssessments(connection: Connection, findings: Finding[]): void {
  const cells = connection.prepare<[number], CellRow>(
    `SELECT position, exercise, probe, dwell_position AS dwellPosition, window_percent AS windowPercent,
       window_low_percent AS windowLowPercent, window_high_percent AS windowHighPercent,
       exercise_percent AS exercisePercent, flags FROM cell WHERE assessment = ? ORDER BY position`,
  );
  let before = 0;
  for (const row of connection.prepare<[], AssessmentRow>('SELECT * FROM assessment ORDER BY number').iterate()) {
    nameGap(gapBetween(before, row.number), (from, to) => {
      const what = from === to ? `Assessment number ${from} is` : `Assessments number ${from} to ${to} are`;
      findings.push(bad('assessment-missing', `${what} not there.`));
    });
    before = row.number;
    let reason: string | null;
    try {
      reason = assessmentProblem(row, cells.all(row.number));
    } catch (error) {
      if (sqliteCode(error) !== null) throw error;
      // Not JSON any more, or a number that JSON does not know: whatever it is, it is not what was stored.
      reason = `it cannot be read (${(error as Error).message})`;
    }
    if (reason !== null)
      findings.push(bad('assessment-altered', `Assessment ${row.assessment}: ${reason}.`, row.trial));
  }
}

function assessmentProblem(row: AssessmentRow, cells: readonly CellRow[]): string | null {
  if (!equalBytes(assessmentDigest(row.json), row.digest)) return 'it does not match its digest';
  const document = JSON.parse(row.json) as {
    assessment: string;
    trial: string;
    program: string;
    createdAt: string;
    trialHead: string;
    method: { name: string; version: number };
    cells: Record<string, unknown>[];
  };
  const same =
    document.assessment === row.assessment &&
    document.trial === row.trial &&
    document.program === row.program &&
    document.createdAt === row.created_at &&
    document.trialHead === toHexadecimal(row.trial_head) &&
    document.method.name === row.method_name &&
    document.method.version === row.method_version &&
    equalBytes(frozenDigest('method', canonicalJson(document.method)), row.method_digest);
  if (!same || document.cells.length !== cells.length) return 'its columns are not what was assessed';
  for (const [index, { position, flags, ...cell }] of cells.entries()) {
    const whole = document.cells[index] ?? {};
    const differs = (name: string): string => `${name} of cell ${index + 1} is not what was assessed`;
    if (position !== index) return differs('position');
    if (flags !== canonicalJson(whole['flags'])) return differs('flags');
    for (const [name, value] of Object.entries(cell)) {
      if (canonicalJson(whole[name] ?? null) !== canonicalJson(value)) return differs(name);
    }
  }
  return null;
}
