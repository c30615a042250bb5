import { createPublicKey, verify } from 'node:crypto';
import { blob, digest, must, number, string, text, u32 } from './independent-bytes.ts';
import type { Row } from './independent-bytes.ts';

/** What the rest of the file says. Digests in hexadecimal; both maps by identifier of the trial. */
export interface SignedGround {
  readonly genesis: Buffer;
  readonly heads: ReadonlyMap<string, { readonly head: Buffer; readonly virtual: boolean }>;
  readonly seals: ReadonlyMap<string, { readonly number: number; readonly digest: string }>;
}

interface Statement {
  readonly step: string;
  readonly number: number;
  readonly person: string;
  readonly assessment: string;
}

/** What was signed of one assessment so far. */
interface State {
  standing: Statement[];
  readonly assessedBy: string[];
}

type Read = (sql: string, ...values: unknown[]) => Row[];

/**
 * The section "Signatures" of docs/formats/chain.md, played again from that page alone. @returns how many there are.
 * @throws Error that says what is wrong.
 */
export function walkSignatures(all: Read, study: Row, { genesis, heads, seals }: SignedGround): number {
  const there = all("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'signature'").length > 0;
  const counted = study['signatures'] === undefined ? 0 : number(study, 'signatures');
  if (!there) {
    must(counted === 0, 'signatures are missing');
    return 0;
  }
  const voidings = all('SELECT digest FROM voiding ORDER BY number').map((row) => blob(row, 'digest'));
  const rows = all('SELECT * FROM signature ORDER BY number');
  const states = new Map<string, State>();
  const releases = new Map<string, string>();
  let previous = genesis;
  for (const [index, row] of rows.entries()) {
    const here = `signature ${index + 1}`;
    must(number(row, 'number') === index + 1, `${here} is missing`);
    const json = text(row, 'json');
    const found = JSON.parse(json) as Record<string, unknown>;
    must(JSON.stringify(sorted(found)) === json, `${here} is not canonical`);
    must(Object.keys(found).sort().join(' ') === members, `members of ${here}`);
    const own = digest(string('chamberside signature 1'), string(json));
    must(own.equals(blob(row, 'digest')), `digest of ${here}`);
    const trial = text(row, 'trial');
    const head = heads.get(trial);
    const said = {
      form: 'chamberside signature 1',
      study: text(study, 'study'),
      number: index + 1,
      previous: previous.toString('hex'),
      trial,
      rehearsal: head?.virtual,
      trialHead: head?.head.toString('hex'),
      seal: seals.get(trial),
    };
    for (const [member, value] of Object.entries(said)) {
      const same = value !== undefined && JSON.stringify(sorted(value)) === JSON.stringify(found[member]);
      must(same, `${member} of ${here}`);
    }
    const assessment = String(found['assessment']);
    const chosenBy = matchAssessment(all, found, trial, here);
    const { count, digest: decided } = found['voidings'] as { count: number; digest: string };
    must(count <= voidings.length, `voidings of ${here}`);
    const known = digest(string('chamberside voidings 1'), u32(count), ...voidings.slice(0, count));
    must(known.toString('hex') === decided, `voidings of ${here}`);
    const statement = found as unknown as Statement;
    play(states, releases, trial, statement, { restsOn: found['restsOn'], chosenBy, here });
    checkKey(found, json, text(row, 'key_signature'), here);
    must(states.has(assessment), here);
    previous = own;
  }
  const head = study['signature_head'] === undefined ? Buffer.alloc(0) : blob(study, 'signature_head');
  must(counted === rows.length && head.equals(rows.length === 0 ? Buffer.alloc(0) : previous), 'the last signature');
  return rows.length;
}

const members =
  'assessment assessmentDigest assessmentProgram createdAt form key method number person previous program reason ' +
  'rehearsal restsOn seal step study trial trialHead voidings';

function sorted(value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value;
  const entries = Object.entries(value).sort(([one], [other]) => (one < other ? -1 : 1));
  return Object.fromEntries(entries.map(([name, part]) => [name, sorted(part)]));
}

/** @returns code of the reviewer who had the assessment made; null: nobody. */
function matchAssessment(all: Read, found: Record<string, unknown>, trial: string, here: string): string | null {
  const [row] = all('SELECT * FROM assessment WHERE assessment = ?', String(found['assessment']));
  if (row === undefined) throw new Error(`assessment of ${here} is missing`);
  must(text(row, 'trial') === trial, `assessment of ${here} is of another trial`);
  must(blob(row, 'digest').toString('hex') === found['assessmentDigest'], `assessment of ${here}`);
  must(text(row, 'program') === found['assessmentProgram'], `program of ${here}`);
  const method = {
    digest: blob(row, 'method_digest').toString('hex'),
    name: text(row, 'method_name'),
    version: number(row, 'method_version'),
  };
  must(JSON.stringify(method) === JSON.stringify(found['method']), `method of ${here}`);
  const { review } = JSON.parse(text(row, 'json')) as { review?: { person: string } };
  return review?.person ?? null;
}

/** The order of the steps, and nobody who reviews what they assessed. */
function play(
  states: Map<string, State>,
  releases: Map<string, string>,
  trial: string,
  statement: Statement,
  { chosenBy, here, restsOn }: { readonly chosenBy: string | null; readonly here: string; readonly restsOn: unknown },
): void {
  const { assessment, person, step } = statement;
  const state = states.get(assessment) ?? { standing: [], assessedBy: [] };
  states.set(assessment, state);
  const last = state.standing.at(-1);
  must(restsOn === (step === 'assessed' ? null : (last?.number ?? null)), `${here} rests on another`);
  if (step === 'withdrawn') {
    must(last !== undefined, `${here} takes nothing back`);
    state.standing.pop();
    if (last?.step === 'released') releases.delete(trial);
    return;
  }
  must(step === ['assessed', 'reviewed', 'released'][state.standing.length], `order of ${here}`);
  const same = (code: string): boolean => code.toLowerCase() === person.toLowerCase();
  if (step === 'assessed') state.assessedBy.push(person);
  if (step === 'reviewed') {
    must(!state.assessedBy.some(same) && (chosenBy === null || !same(chosenBy)), `the person of ${here}`);
  }
  if (step === 'released') {
    const before = releases.get(trial);
    if (before !== undefined) states.get(before)?.standing.pop();
    releases.set(trial, assessment);
  }
  state.standing.push(statement);
}

function checkKey(found: Record<string, unknown>, json: string, signature: string, here: string): void {
  const key = found['key'] as { algorithm: string; fingerprint: string; publicKey: string } | null;
  must((key !== null) === (found['step'] === 'released' && found['rehearsal'] === false), `key of ${here}`);
  if (key === null) {
    must(signature === '', `key of ${here}`);
    return;
  }
  const der = Buffer.from(key.publicKey, 'base64');
  must(key.algorithm === 'Ed25519' && digest(der).toString('hex') === key.fingerprint, `fingerprint of ${here}`);
  const publicKey = createPublicKey({ key: der, format: 'der', type: 'spki' });
  must(verify(null, Buffer.from(json, 'utf8'), publicKey, Buffer.from(signature, 'base64')), `key of ${here}`);
}
