import { ChambersideError } from '../../model/error-code.ts';
import { fileDamaged } from '../file-error.ts';
import type { Identifier } from '../../model/identity.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { Voiding } from '../../model/voiding.ts';
import { insertAssessment } from './assessments.ts';
import { canonicalJson } from './canonical-json.ts';
import {
  chunkDigest,
  eventDigest,
  frozenDigest,
  readingsDigest,
  studyDigest,
  wireDigest,
  writeLinkBody,
  writeSealBody,
  writeTrialBody,
} from './chain.ts';
import type {
  NewAssessment,
  NewSignature,
  NewVoiding,
  SealResult,
  StoredAssessment,
  StoredSignature,
  StudyIdentity,
  TrialDefinition,
  UnfinishedTrial,
} from './contract.ts';
import { storageError } from './database.ts';
import type { Connection } from './database.ts';
import { sha256, toHexadecimal } from './digest.ts';
import { encodeReadings, encodeWire, noCipher, readingsEncoding, wireEncoding } from './encoding.ts';
import { HeldStudy } from './held-study.ts';
import { renewLease } from './lease.ts';
import type { LinkData, TrialPosition } from './protocol.ts';
import {
  allTrials,
  frozenPart,
  frozenParts,
  lastLink,
  sealOf,
  segmentsOf,
  studyIdentity,
  trialRow,
  unfinishedTrials,
} from './trial-rows.ts';
import type { FrozenPart } from './trial-rows.ts';
import { insertSignature } from './signatures.ts';
import { insertVoiding } from './voidings.ts';
import { prepareInserts, type Inserts } from './writer-inserts.ts';

/** Where the chain of an open trial stands. */
interface Chain {
  readonly number: number;
  link: number;
  through: number;
  digest: Uint8Array;
}

/** Links handed over by one call. */
export interface LinkBatch {
  readonly trial: Identifier;
  readonly links: readonly LinkData[];
}

/** The only writing connection to a study file. Synchronous; lives in the writer worker. */
export class StudyWriter {
  readonly path: string;
  readonly identity: StudyIdentity;
  readonly created: boolean;
  readonly #held: HeldStudy;
  readonly #chains = new Map<string, Chain>();
  #prepared: { readonly of: Connection; readonly inserts: Inserts };
  #heartbeat: number;

  /** @throws ChambersideError as `HeldStudy`. */
  constructor(path: string, studyName: string | null, hostId: Identifier, now: string) {
    this.path = path;
    this.#held = new HeldStudy(path, studyName, hostId, now);
    this.created = this.#held.created;
    try {
      this.identity = studyIdentity(this.#connection, path);
      this.#prepared = { of: this.#connection, inserts: prepareInserts(this.#connection) };
      this.#heartbeat = performance.now();
    } catch (error) {
      this.#held.close();
      throw storageError(error, path);
    }
  }

  /** Freezes the configuration and writes link 0. @throws ChambersideError `configuration-invalid`. */
  createTrial(definition: TrialDefinition, now: string): TrialPosition {
    const { header, segment } = definition;
    if (header.study !== this.identity.study) {
      throw new ChambersideError(
        'configuration-invalid',
        `The trial belongs to study ${header.study}, this file is ${this.identity.study}`,
        this.path,
        'Give the trial the identifier of the open study.',
      );
    }
    if (allTrials(this.#connection).some((row) => row.trial === header.trial)) {
      throw new ChambersideError(
        'configuration-invalid',
        `The study holds a trial ${header.trial} already`,
        this.path,
        'Give it a new identifier.',
      );
    }
    const program = {
      version: header.program,
      runtime: process.version,
      platform: `${process.platform} ${process.arch}`,
    };
    const contents: Record<FrozenPart, unknown> = { ...definition, program };
    const chain = this.#transaction(() => {
      const number = Number(this.#insert.trial.run(header.trial, now).lastInsertRowid);
      const parts = frozenParts.map((part) => {
        const json = canonicalJson(contents[part]);
        const digest = frozenDigest(part, json);
        this.#insert.frozen.run(number, part, json, digest);
        return { part, digest };
      });
      const { study, name, createdAt } = this.identity;
      const body = writeTrialBody({ trial: header.trial, genesis: studyDigest(study, name, createdAt), parts });
      const digest = sha256(body);
      this.#insert.link.run(number, 0, segment.beginsAtMicroseconds, segment.beginsAtMicroseconds, body, digest);
      return { number, link: 0, through: segment.beginsAtMicroseconds, digest };
    });
    this.#chains.set(header.trial, chain);
    return this.#position(header.trial, chain);
  }

  /**
   * Finds where an interrupted trial goes on.
   * @throws ChambersideError `trial-not-found`, `trial-sealed`, `configuration-invalid` for a segment that does
   *   not follow, `file-damaged` when the trial has no first link.
   */
  resumeTrial(trial: Identifier, segment: TimeSegment): TrialPosition {
    const chain = this.#chain(trial);
    const last = segmentsOf(this.#connection, chain.number, this.path).at(-1);
    const expected = (last?.segment ?? -1) + 1;
    if (segment.segment !== expected || segment.beginsAtMicroseconds < chain.through) {
      throw new ChambersideError(
        'configuration-invalid',
        `Segment ${segment.segment} at ${segment.beginsAtMicroseconds} µs does not follow: ` +
          `number ${expected}, not before ${chain.through} µs, was expected`,
        trial,
        'Take number and time from the list of unfinished trials.',
      );
    }
    return this.#position(trial, chain);
  }

  /**
   * Commits links of any number of trials in one transaction; links that are in the file already are passed over,
   * so that handing over again is harmless.
   */
  commit(batches: readonly LinkBatch[]): void {
    const moved = new Map<Chain, Chain>();
    this.#transaction(() => {
      for (const { trial, links } of batches) {
        const stored = this.#chain(trial);
        const chain = moved.get(stored) ?? { ...stored };
        moved.set(stored, chain);
        for (const link of links) if (link.link > chain.link) this.#writeLink(trial, chain, link);
      }
      this.heartbeat();
    });
    for (const [stored, chain] of moved) Object.assign(stored, chain);
  }

  /** Seals a trial for good and adds the seal to the study-wide chain. @throws `trial-not-found`, `trial-sealed`. */
  seal(trial: Identifier, now: string): SealResult {
    const chain = this.#chain(trial);
    const { study } = this.identity;
    const result = this.#transaction(() => {
      const before = this.#insert.sealHead.get() as { seal_count: number; seal_head: Uint8Array };
      const seal = before.seal_count + 1;
      const links = chain.link + 1;
      const body = writeSealBody({
        study,
        seal,
        previous: before.seal_head,
        trial,
        links,
        head: chain.digest,
        sealedAt: now,
      });
      const digest = sha256(body);
      this.#insert.seal.run(seal, trial, links, chain.digest, now, body, digest);
      this.#insert.moveSealHead.run(seal, digest);
      return { head: toHexadecimal(chain.digest), count: links, seal, sealDigest: toHexadecimal(digest) };
    });
    this.#chains.delete(trial);
    return result;
  }

  /** As `HeldStudy.putBack`. */
  putBack(): ChambersideError | null {
    return this.#held.putBack();
  }

  /** As `HeldStudy`. */
  get hasLeft(): boolean {
    return this.#held.hasLeft;
  }

  /** As `HeldStudy`. */
  get logHasGone(): boolean {
    return this.#held.logHasGone;
  }

  /** As `HeldStudy`. */
  settleLog(): void {
    this.#held.settleLog();
  }

  unfinished(): UnfinishedTrial[] {
    return unfinishedTrials(this.#connection, this.path);
  }

  storeAssessment(entry: NewAssessment, now: string): StoredAssessment {
    return insertAssessment(this.#connection, this.path, entry, now);
  }

  storeSignature(entry: NewSignature, now: string): StoredSignature {
    return insertSignature(this.#connection, this.path, entry, now);
  }

  storeVoiding(entry: NewVoiding, now: string): Voiding {
    return insertVoiding(this.#connection, this.path, entry, now);
  }

  /** Keeps the lease alive; writes at most once in five seconds. */
  heartbeat(): void {
    const now = performance.now();
    if (now - this.#heartbeat < 5000) return;
    renewLease(this.#connection);
    this.#heartbeat = now;
  }

  /** Largest size of the file, pages; null: as large as SQLite allows. */
  limitPages(pages: number | null): void {
    this.#connection.pragma(`max_page_count = ${pages ?? 4_294_967_294}`);
  }

  /** As `HeldStudy.close`. */
  close(): void {
    this.#held.close();
  }

  /** Where the file is; another place than `path` after another file had taken that. */
  get at(): string {
    return this.#held.at;
  }

  /** Those of the connection that there is now. */
  get #insert(): Inserts {
    const of = this.#connection;
    if (this.#prepared.of !== of) this.#prepared = { of, inserts: prepareInserts(of) };
    return this.#prepared.inserts;
  }

  get #connection(): Connection {
    return this.#held.connection;
  }

  #writeLink(trial: string, chain: Chain, data: LinkData): void {
    if (data.link !== chain.link + 1) {
      throw new ChambersideError(
        'internal',
        `Link ${data.link} does not follow link ${chain.link}`,
        trial,
        'Resume the trial.',
      );
    }
    const { link, fromMicroseconds, throughMicroseconds } = data;
    const chunks = data.chunks.map((chunk) => {
      const blob = encodeReadings(chunk, fromMicroseconds);
      const content = readingsDigest(chunk);
      const count = chunk.times.length;
      const digest = chunkDigest(readingsEncoding, noCipher, count, content, blob);
      this.#insert.chunk.run(
        chain.number,
        link,
        chunk.stream,
        count,
        readingsEncoding,
        noCipher,
        blob,
        content,
        digest,
      );
      return { stream: chunk.stream, digest };
    });
    const wires = data.wires.map((wire) => {
      const blob = encodeWire(wire, fromMicroseconds);
      const count = wire.times.length;
      const digest = wireDigest(wireEncoding, noCipher, count, blob);
      const { instrument, direction } = wire;
      this.#insert.wire.run(chain.number, link, instrument, direction, count, wireEncoding, noCipher, blob, digest);
      return { instrument, direction, digest };
    });
    const events = data.events.map((event, position) => {
      const digest = eventDigest(event.json);
      this.#insert.event.run(chain.number, link, position, event.atMicroseconds, event.kind, event.json, digest);
      return digest;
    });
    const body = writeLinkBody({
      trial,
      link,
      second: Math.floor(fromMicroseconds / 1_000_000),
      fromMicroseconds,
      throughMicroseconds,
      previous: chain.digest,
      chunks,
      wires,
      events,
    });
    chain.digest = sha256(body);
    chain.link = link;
    chain.through = throughMicroseconds;
    this.#insert.link.run(chain.number, link, fromMicroseconds, throughMicroseconds, body, chain.digest);
  }

  /** The chain of an unsealed trial, from memory or from the file. */
  #chain(trial: string): Chain {
    const known = this.#chains.get(trial);
    if (known !== undefined) return known;
    const { number } = trialRow(this.#connection, trial, this.path);
    if (sealOf(this.#connection, trial) !== null) {
      throw new ChambersideError('trial-sealed', 'The trial is sealed', trial, 'Record a new trial.');
    }
    const last = lastLink(this.#connection, number);
    if (last === undefined) {
      throw fileDamaged('The trial has no first link', trial);
    }
    const chain = { number, link: last.link, through: last.through_microseconds, digest: last.digest };
    this.#chains.set(trial, chain);
    return chain;
  }

  #position(trial: Identifier, chain: Chain): TrialPosition {
    const count = (part: FrozenPart): number =>
      (frozenPart(this.#connection, chain.number, part, this.path) as unknown[]).length;
    return {
      trial,
      lastLink: chain.link,
      throughMicroseconds: chain.through,
      streams: count('streams'),
      instruments: count('instruments'),
    };
  }

  #transaction<Result>(work: () => Result): Result {
    try {
      return this.#connection.transaction(work).immediate();
    } catch (error) {
      throw storageError(error, this.path);
    }
  }
}
