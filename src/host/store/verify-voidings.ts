import type { Identifier } from '../../model/identity.ts';
import type { Voiding } from '../../model/voiding.ts';
import { voidingDigest } from './chain.ts';
import type { Finding } from './contract.ts';
import type { Connection } from './database.ts';
import { equalBytes, toHexadecimal } from './digest.ts';
import { gapBetween, nameGap } from './number-gap.ts';
import { allTrials, lastLink } from './trial-rows.ts';

interface VoidingRow {
  readonly number: number;
  readonly trial: Identifier;
  readonly json: string;
  readonly digest: Uint8Array;
}

/**
 * Decisions on sealed trials: numbered without gaps, each with a digest, about the trial that it stands beside and the
 * end that this has. A digest knows no number, so rows that changed places are told by what a decision may follow:
 * those of one trial alternate and begin with `void`, as `insertVoiding` has it, and no decision stands twice.
 */
export function checkVoidings(connection: Connection, counted: number, findings: Finding[]): void {
  const heads = new Map(
    allTrials(connection).map(({ number, trial }) => [trial, lastLink(connection, number)?.digest] as const),
  );
  const stood = new Map<Identifier, string>();
  const told = new Map<string, number>();
  let before = 0;
  for (const row of connection.prepare<[], VoidingRow>('SELECT * FROM voiding ORDER BY number').iterate()) {
    nameGap(gapBetween(before, row.number), (from, to) => {
      const what = from === to ? `Voiding number ${from} is` : `Voidings number ${from} to ${to} are`;
      findings.push(bad('voiding-missing', `${what} not there.`, null));
    });
    before = row.number;
    const twin = told.get(row.json);
    told.set(row.json, twin ?? row.number);
    const reason =
      twin === undefined ? voidingProblem(row, heads.get(row.trial), stood) : `it is number ${twin} once more`;
    if (reason !== null) findings.push(bad('voiding-altered', `Voiding number ${row.number}: ${reason}.`, row.trial));
  }
  if (before === counted) return;
  const differs = `The study row counts ${counted} voidings, and the last has number ${before}.`;
  findings.push(bad('study-altered', differs, null));
  nameGap(gapBetween(before, counted + 1), (from, to) => {
    const what = from === to ? `Voiding number ${from} is` : `Voidings number ${from} to ${to} are`;
    findings.push(bad('voiding-missing', `${what} not there.`, null));
  });
}

function bad(code: Finding['code'], text: string, trial: Identifier | null): Finding {
  return { severity: 'bad', code, trial, link: null, second: null, text };
}

/** @param head of the trial; undefined where it is not there. @param stood newest decision of each trial; kept here. */
function voidingProblem(
  { digest, json, trial }: VoidingRow,
  head: Uint8Array | undefined,
  stood: Map<Identifier, string>,
): string | null {
  if (!equalBytes(voidingDigest(json), digest)) return 'it does not match its digest';
  try {
    const { decision, trial: about, trialHead } = JSON.parse(json) as Partial<Record<keyof Voiding, unknown>>;
    if (about !== trial) return 'it is about another trial';
    const before = stood.get(trial) ?? 'withdrawn';
    stood.set(trial, String(decision));
    if (decision !== (before === 'void' ? 'withdrawn' : 'void')) return 'it changes nothing at its place';
    // A trial that is gone is a finding of its own.
    const isOfHead = head === undefined || trialHead === toHexadecimal(head);
    return isOfHead ? null : 'the trial does not end as it did when this was decided';
  } catch (error) {
    return `it cannot be read (${(error as Error).message})`;
  }
}
