import type { Identifier } from '../../model/identity.ts';
import { voidingDigest } from './chain.ts';
import type { Finding } from './contract.ts';
import type { Connection } from './database.ts';
import { equalBytes } from './digest.ts';
import { gapBetween, nameGap } from './number-gap.ts';

interface VoidingRow {
  readonly number: number;
  readonly trial: Identifier;
  readonly json: string;
  readonly digest: Uint8Array;
}

/** Decisions on sealed trials: numbered without gaps, each with a digest, about the trial that it stands beside. */
export function checkVoidings(connection: Connection, counted: number, findings: Finding[]): void {
  let before = 0;
  for (const row of connection.prepare<[], VoidingRow>('SELECT * FROM voiding ORDER BY number').iterate()) {
    nameGap(gapBetween(before, row.number), (from, to) => {
      const what = from === to ? `Voiding number ${from} is` : `Voidings number ${from} to ${to} are`;
      findings.push(bad('voiding-missing', `${what} not there.`, null));
    });
    before = row.number;
    const reason = voidingProblem(row);
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

function voidingProblem({ digest, json, trial }: VoidingRow): string | null {
  if (!equalBytes(voidingDigest(json), digest)) return 'it does not match its digest';
  try {
    const { trial: about } = JSON.parse(json) as { trial?: unknown };
    return about === trial ? null : 'it is about another trial';
  } catch (error) {
    return `it cannot be read (${(error as Error).message})`;
  }
}
