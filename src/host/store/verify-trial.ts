import type { Identifier } from '../../model/identity.ts';
import type { TimeSegment } from '../../model/time.ts';
import { frozenDigest, readLinkBody, readTrialBody } from './chain.ts';
import type { LinkBody, TrialBody } from './chain.ts';
import type { Finding, FindingCode, VerifiedTrial } from './contract.ts';
import type { Connection } from './database.ts';
import { equalBytes, sha256, toHexadecimal } from './digest.ts';
import { gapBetween, nameGap } from './number-gap.ts';
import type { NumberGap } from './number-gap.ts';
import { frozenParts } from './trial-rows.ts';
import type { TrialRow } from './trial-rows.ts';
import { contentChecker } from './verify-content.ts';
import type { Report } from './verify-content.ts';

/** What the seal of a trial says about it. */
export interface Seal {
  readonly seal: number;
  readonly links: number;
  readonly head: Uint8Array;
}

interface LinkRow {
  readonly link: number;
  readonly from_microseconds: number;
  readonly through_microseconds: number;
  readonly body: Uint8Array;
  readonly digest: Uint8Array;
}

/** The link before the one at hand. `digests`: what it says of itself, and what its body really gives. */
interface Before {
  readonly link: number;
  readonly through: number;
  readonly digests: readonly Uint8Array[];
}

const microsecondsPerSecond = 1_000_000;

/**
 * Walks the chain of one trial and adds to the findings.
 * @param sealGone whether the seal of a trial that has none is among those that the study has lost.
 * @param genesis digest of the study row, null if gone.
 */
export function verifyTrial(
  connection: Connection,
  row: TrialRow,
  { seal, sealGone }: { readonly seal: Seal | null; readonly sealGone: boolean },
  genesis: Uint8Array | null,
  findings: Finding[],
): VerifiedTrial {
  const report: Report = (code, text, place = {}) => {
    const { link = null, second = null, stream } = place;
    findings.push({
      severity: code === 'unsealed' ? 'note' : 'bad',
      code,
      trial: row.trial,
      link,
      second,
      ...(stream === undefined ? {} : { stream }),
      text,
    });
  };
  const check = contentChecker(connection, row.number, report);
  const gaps: NumberGap[] = [];
  let before: Before | null = null;
  let count = 0;
  const links = connection.prepare<[number], LinkRow>(
    'SELECT link, from_microseconds, through_microseconds, body, digest FROM link WHERE trial = ? ORDER BY link',
  );
  for (const link of links.iterate(row.number)) {
    const gap = gapBetween(before?.link ?? -1, link.link);
    if (gap !== null) gaps.push(gap);
    const last: Before | null = before;
    nameGap(gap, (from, to) => {
      const second = last === null ? null : Math.floor(last.through / microsecondsPerSecond) + from - last.link - 1;
      const what = from === to ? `Link ${from} is` : `Links ${from} to ${to} are`;
      report('link-missing', `${what} not there.`, { link: from, second });
    });
    if (link.link === 0) checkTrialLink(connection, row, link, genesis, report);
    else {
      const body = checkLink(row.trial, link, before, report);
      if (body !== null) {
        const segments = check(body);
        const continues = before === null || before.link !== link.link - 1 || before.through === body.fromMicroseconds;
        if (!continues && !segments.includes(body.fromMicroseconds)) {
          report(
            'time-broken',
            `Link ${link.link} begins at ${body.fromMicroseconds} µs, the one before ends at another time.`,
            place(link),
          );
        }
      }
    }
    before = { link: link.link, through: link.through_microseconds, digests: [link.digest, sha256(link.body)] };
    count += 1;
  }
  const last: number = before?.link ?? -1;
  const head = before?.digests[0] ?? new Uint8Array(0);
  if (seal === null && count === 0) report('link-missing', 'Link 0 is not there, nor any after it.', { link: 0 });
  else if (seal === null && sealGone) {
    const why = 'it came to its end, after which a trial is sealed, and the study has fewer seals than were made';
    report('seal-missing', `The seal of this trial was removed: ${why}.`);
  } else if (seal === null) report('unsealed', 'The trial is not sealed: what was cut off its end could not be seen.');
  else if (last + 1 < seal.links) {
    report('tail-cut', `The trial was sealed with ${seal.links} links; those from ${last + 1} on are not there.`, {
      link: last + 1,
    });
    gaps.push({ from: last + 1, to: seal.links - 1 });
  } else if (last + 1 > seal.links) {
    report('head-differs', `The trial was sealed with ${seal.links} links and has ${last + 1}.`, { link: last });
  } else if (!equalBytes(head, seal.head)) {
    report('head-differs', 'The last link is not the one that was sealed.', { link: last });
  }
  checkStrays(connection, row.number, (link) => gaps.some(({ from, to }) => link >= from && link <= to), report);
  return { trial: row.trial, sealed: seal !== null, links: count, head: toHexadecimal(head) };
}

function place(row: LinkRow): { link: number; second: number } {
  return { link: row.link, second: Math.floor(row.from_microseconds / microsecondsPerSecond) };
}

function checkLink(trial: Identifier, row: LinkRow, before: Before | null, report: Report): LinkBody | null {
  const at = place(row);
  let body: LinkBody;
  try {
    body = readLinkBody(row.body);
  } catch (error) {
    report('link-altered', `Link ${row.link} cannot be read: ${(error as Error).message}.`, at);
    return null;
  }
  if (!equalBytes(sha256(row.body), row.digest))
    report('link-altered', `Link ${row.link} does not match its digest.`, at);
  if (body.link !== row.link || body.trial !== trial) {
    report('link-misplaced', `At the place of link ${row.link} stands link ${body.link} of trial ${body.trial}.`, at);
  } else if (body.fromMicroseconds !== row.from_microseconds || body.throughMicroseconds !== row.through_microseconds) {
    report('link-altered', `The times of link ${row.link} are not those that were recorded.`, at);
  }
  if (
    before !== null &&
    before.link === row.link - 1 &&
    !before.digests.some((digest) => equalBytes(digest, body.previous))
  ) {
    report('chain-broken', `Link ${row.link} does not continue link ${before.link}.`, at);
  }
  return body;
}

/** Link 0: the frozen configuration. */
function checkTrialLink(
  connection: Connection,
  row: TrialRow,
  link: LinkRow,
  genesis: Uint8Array | null,
  report: Report,
): void {
  const at = { link: 0 };
  if (!equalBytes(sha256(link.body), link.digest)) report('link-altered', 'Link 0 does not match its digest.', at);
  let body: TrialBody;
  try {
    body = readTrialBody(link.body);
  } catch (error) {
    report('link-altered', `Link 0 cannot be read: ${(error as Error).message}.`, at);
    return;
  }
  if (body.trial !== row.trial) report('link-misplaced', `Link 0 belongs to trial ${body.trial}.`, at);
  if (genesis !== null && !equalBytes(body.genesis, genesis))
    report('link-misplaced', 'The trial belongs to another study.', at);
  const frozen = connection.prepare<[number, string], { json: string; digest: Uint8Array }>(
    'SELECT json, digest FROM frozen WHERE trial = ? AND part = ?',
  );
  for (const part of frozenParts) {
    if (!body.parts.some((entry) => entry.part === part))
      report('frozen-missing', `Link 0 does not cover the ${part}.`, at);
  }
  const parts = connection.prepare<[number], { part: string }>('SELECT part FROM frozen WHERE trial = ? ORDER BY part');
  for (const { part } of parts.all(row.number)) {
    if (!body.parts.some((entry) => entry.part === part)) {
      report('frozen-added', `The frozen ${part} is not part of the chain.`, at);
    }
  }
  for (const { part, digest } of body.parts) {
    const stored = frozen.get(row.number, part);
    if (part === 'segment' && !beginsAt(stored?.json, link)) {
      report('link-altered', 'The times of link 0 are not the beginning of the trial.', at);
    }
    if (stored === undefined) report('frozen-missing', `The frozen ${part} is not there.`, at);
    else if (!equalBytes(frozenDigest(part, stored.json), digest) || !equalBytes(stored.digest, digest)) {
      report('frozen-altered', `The frozen ${part} is not what the trial began with.`, at);
    }
  }
}

/** Whether link 0 has the time of the first segment; a segment that cannot be read is reported as such elsewhere. */
function beginsAt(segment: string | undefined, link: LinkRow): boolean {
  try {
    const { beginsAtMicroseconds } = JSON.parse(segment ?? '') as TimeSegment;
    return link.from_microseconds === beginsAtMicroseconds && link.through_microseconds === beginsAtMicroseconds;
  } catch {
    return true;
  }
}

/** Rows whose link is not there, except where the missing link is reported already. */
function checkStrays(
  connection: Connection,
  number: number,
  isMissing: (link: number) => boolean,
  report: Report,
): void {
  const kinds: [string, FindingCode, string][] = [
    ['chunk', 'chunk-added', 'Readings'],
    ['wire', 'wire-added', 'Wire bytes'],
    ['event', 'event-added', 'Events'],
  ];
  for (const [table, code, what] of kinds) {
    const rows = connection
      .prepare<[number, number], { link: number }>(
        `SELECT DISTINCT link FROM ${table} WHERE trial = ? AND link NOT IN (SELECT link FROM link WHERE trial = ?)`,
      )
      .all(number, number);
    for (const { link } of rows) {
      if (!isMissing(link)) report(code, `${what} are there for link ${link}, which is not.`, { link });
    }
  }
}
