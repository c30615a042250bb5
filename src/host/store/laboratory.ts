import { randomBytes } from 'node:crypto';
import { existsSync } from 'node:fs';
import { z } from 'zod';
import { connectionSettingsSchema } from '../../bridge/snapshot.ts';
import type { ConnectionSettings } from '../../bridge/snapshot.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { reservedCodes } from '../../model/trial-event.ts';
import { codeSchema, identifierSchema, makeIdentifier, pinSchema } from '../../model/identity.ts';
import type { Identifier } from '../../model/identity.ts';
import { methodSchema } from '../../model/method.ts';
import type { Method } from '../../model/method.ts';
import { rigEntrySchema } from '../../model/rig-entry.ts';
import type { Rig } from '../../model/rig.ts';
import { seriesEntrySchema } from '../../model/series-entry.ts';
import type { Series } from '../../model/series.ts';
import { canonicalJson } from './canonical-json.ts';
import { frozenDigest } from './chain.ts';
import { closeCleanly, createDatabase, openForWriting, storageError } from './database.ts';
import type { Connection } from './database.ts';
import { toHexadecimal } from './digest.ts';
import { LaboratoryChecks } from './laboratory-checks.ts';
import { LaboratoryRegister } from './laboratory-register.ts';
import { hashPin, pinMatches } from './pin.ts';

export const roleSchema = z.enum(['operator', 'technician', 'reviewer']);
export type Role = z.infer<typeof roleSchema>;

export const personSchema = z.object({
  person: identifierSchema,
  /** Short and unique: what is typed and printed. */
  code: codeSchema,
  name: z.string().min(1).max(120),
  roles: z.array(roleSchema).min(1),
  active: z.boolean(),
  createdAt: z.iso.datetime(),
});
export type Person = z.infer<typeof personSchema>;

/** What the laboratory keeps versions of. */
export interface DocumentContents {
  rig: Rig;
  method: Method;
  series: Series;
}
export type DocumentKind = keyof DocumentContents;

/** What a document must satisfy when it is put in; what is in is read as it is. */
const schemas: { readonly [Kind in DocumentKind]: z.ZodType<DocumentContents[Kind]> } = {
  rig: rigEntrySchema,
  method: methodSchema,
  series: seriesEntrySchema,
};

/** Where the laboratory says that an instrument of a rig is. */
export interface KnownConnection {
  readonly rig: string;
  readonly instrument: string;
  readonly settings: ConnectionSettings;
}

export interface StoredDocument<Content> {
  readonly name: string;
  readonly version: number;
  /** Hexadecimal; equal to the digest of the copy that a trial freezes. */
  readonly digest: string;
  readonly createdAt: string;
  readonly content: Content;
}

/** @throws ChambersideError `file-exists`, `file-on-network`. */
export function createLaboratory(path: string): void {
  createDatabase('laboratory', path);
}

/**
 * Opens the laboratory file. Synchronous but for the PIN, which is derived in the thread pool.
 * @param options.create creates the file when it is not there. `wallClock`: ISO 8601 in UTC.
 * @throws ChambersideError `file-not-found`, `file-not-ours`, `file-newer`, `file-on-network`.
 */
export function openLaboratory(path: string, options: { create?: boolean; wallClock?: () => string } = {}): Laboratory {
  if (options.create === true && !existsSync(path)) createLaboratory(path);
  return new Laboratory(
    path,
    openForWriting('laboratory', path),
    options.wallClock ?? (() => new Date().toISOString()),
  );
}

interface PersonRow {
  readonly person: Identifier;
  readonly code: string;
  readonly name: string;
  readonly roles: string;
  readonly salt: Uint8Array;
  readonly pin_hash: Uint8Array;
  readonly cost: number;
  readonly block_size: number;
  readonly parallel: number;
  readonly active: number;
  readonly created_at: string;
}

interface DocumentRow {
  readonly name: string;
  readonly version: number;
  readonly json: string;
  readonly digest: Uint8Array;
  readonly created_at: string;
}

/** People, rigs, methods, series, checks and instruments of one laboratory. */
export class Laboratory {
  readonly path: string;
  readonly checks: LaboratoryChecks;
  readonly register: LaboratoryRegister;
  readonly #connection: Connection;
  readonly #now: () => string;

  constructor(path: string, connection: Connection, wallClock: () => string) {
    this.path = path;
    this.#connection = connection;
    this.#now = wallClock;
    this.checks = new LaboratoryChecks(connection, path, wallClock);
    this.register = new LaboratoryRegister(connection, path, wallClock, (name) => this.get('rig', name)?.content);
  }

  /** @throws ChambersideError `person-exists`, `usage-bad-value` (code, name, roles or PIN of the wrong form). */
  async addPerson(entry: { code: string; name: string; roles: readonly Role[]; pin: string }): Promise<Person> {
    const person = this.#checked(personSchema, {
      person: makeIdentifier('person', randomBytes(12)),
      code: entry.code,
      name: entry.name,
      roles: [...new Set(entry.roles)],
      active: true,
      createdAt: this.#now(),
    });
    const { salt, hash, cost, blockSize, parallel } = await hashPin(this.#checked(pinSchema, entry.pin));
    this.refuseTaken(person.code);
    this.#write(
      `INSERT INTO person (person, code, name, roles, salt, pin_hash, cost, block_size, parallel, active, created_at)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, 1, ?)`,
      person.person,
      person.code,
      person.name,
      JSON.stringify(person.roles),
      salt,
      hash,
      cost,
      blockSize,
      parallel,
      person.createdAt,
    );
    return person;
  }

  /** Before somebody is asked for a PIN in vain. @throws ChambersideError `person-exists`. */
  refuseTaken(code: string): void {
    if (reservedCodes.includes(code.toLowerCase())) {
      const what = 'In records this code stands for somebody who has none';
      throw new ChambersideError('person-exists', what, code, 'Choose another code.');
    }
    // Nobody gets a second code by capitals: who reviews what has to be told apart by it.
    const sql = 'SELECT code FROM person WHERE code = ? COLLATE NOCASE';
    const taken = this.#connection.prepare<[string], { code: string }>(sql).get(code);
    if (taken === undefined) return;
    const what = taken.code === code ? 'This code is taken' : `This code is taken, written ${taken.code}`;
    throw new ChambersideError('person-exists', what, code, 'Choose another code.');
  }

  /** @throws ChambersideError `person-not-found`: nobody active has this code. */
  activePerson(code: string): Person {
    const row = this.#person(code);
    if (row === undefined || row.active === 0) throw notFound(code);
    return toPerson(row);
  }

  /**
   * Replaces the PIN of somebody active; the old one is no longer known.
   * @throws ChambersideError `person-not-found`, `usage-bad-value`.
   */
  async setPin(code: string, pin: string): Promise<Person> {
    const person = this.activePerson(code);
    const { salt, hash, cost, blockSize, parallel } = await hashPin(this.#checked(pinSchema, pin));
    this.#write(
      'UPDATE person SET salt = ?, pin_hash = ?, cost = ?, block_size = ?, parallel = ? WHERE code = ?',
      salt,
      hash,
      cost,
      blockSize,
      parallel,
      code,
    );
    return person;
  }

  /** In the order of registration, those who left included. */
  listPeople(): Person[] {
    return this.#connection.prepare<[], PersonRow>('SELECT * FROM person ORDER BY number').all().map(toPerson);
  }

  /**
   * The person, when the PIN is right.
   * @throws ChambersideError `person-not-found` (nobody active has this code), `pin-wrong`.
   */
  async verifyPin(code: string, pin: string): Promise<Person> {
    const row = this.#person(code);
    if (row === undefined || row.active === 0) throw notFound(code);
    const { salt, pin_hash: hash, cost, block_size: blockSize, parallel } = row;
    if (!(await pinMatches(pin, { salt, hash, cost, blockSize, parallel }))) {
      throw new ChambersideError('pin-wrong', 'The PIN does not match', code, 'Try again.');
    }
    return toPerson(row);
  }

  /** Keeps the person in every record, and lets nobody act under the code any more. @throws `person-not-found`. */
  deactivatePerson(code: string): void {
    if (this.#person(code) === undefined) throw notFound(code);
    this.#write('UPDATE person SET active = 0 WHERE code = ?', code);
  }

  /**
   * Keeps a version. The same content again is accepted and changes nothing.
   * @throws ChambersideError `configuration-invalid` when it breaks its schema, or when this name and version hold
   *   something else already.
   */
  put<Kind extends DocumentKind>(kind: Kind, content: DocumentContents[Kind]): StoredDocument<DocumentContents[Kind]> {
    const parsed = schemas[kind].safeParse(content);
    if (!parsed.success) {
      throw new ChambersideError(
        'configuration-invalid',
        z.prettifyError(parsed.error),
        `${kind} ${content.name}`,
        'Correct it.',
      );
    }
    const { name, version } = parsed.data;
    const json = canonicalJson(parsed.data);
    const digest = frozenDigest(kind, json);
    const known = this.get(kind, name, version);
    if (known === null) {
      this.#write(
        'INSERT INTO document (kind, name, version, json, digest, created_at) VALUES (?, ?, ?, ?, ?, ?)',
        kind,
        name,
        version,
        json,
        digest,
        this.#now(),
      );
    } else if (known.digest !== toHexadecimal(digest)) {
      throw new ChambersideError(
        'configuration-invalid',
        `Version ${version} exists with another content`,
        `${kind} ${name}`,
        `Give the changed ${kind} a version above ${this.get(kind, name)?.version ?? version}.`,
      );
    }
    return this.get(kind, name, version) as StoredDocument<DocumentContents[Kind]>;
  }

  /** One version, or the latest when none is given; null when there is none. */
  get<Kind extends DocumentKind>(
    kind: Kind,
    name: string,
    version?: number,
  ): StoredDocument<DocumentContents[Kind]> | null {
    return toDocument(
      this.#connection
        .prepare<[string, string, number | null, number | null], DocumentRow>(
          `SELECT name, version, json, digest, created_at FROM document
           WHERE kind = ? AND name = ? AND (? IS NULL OR version = ?) ORDER BY version DESC LIMIT 1`,
        )
        .get(kind, name, version ?? null, version ?? null),
    );
  }

  /** Every version of a document, the newest first; empty when there is none. */
  versions(kind: DocumentKind, name: string): { readonly version: number; readonly createdAt: string }[] {
    return this.#connection
      .prepare<[string, string], { version: number; createdAt: string }>(
        'SELECT version, created_at AS createdAt FROM document WHERE kind = ? AND name = ? ORDER BY version DESC',
      )
      .all(kind, name);
  }

  /** The version with this digest (hexadecimal), or null. */
  getByDigest<Kind extends DocumentKind>(kind: Kind, digest: string): StoredDocument<DocumentContents[Kind]> | null {
    return toDocument(
      this.#connection
        .prepare<
          [string, Uint8Array],
          DocumentRow
        >('SELECT name, version, json, digest, created_at FROM document WHERE kind = ? AND digest = ?')
        .get(kind, Buffer.from(digest, 'hex')),
    );
  }

  /** The latest version of each, by name. */
  list<Kind extends DocumentKind>(kind: Kind): StoredDocument<DocumentContents[Kind]>[] {
    return this.#connection
      .prepare<[string], DocumentRow>(
        `SELECT name, version, json, digest, created_at FROM document AS one WHERE kind = ? AND version =
           (SELECT max(version) FROM document WHERE kind = one.kind AND name = one.name) ORDER BY name`,
      )
      .all(kind)
      .map((row) => toDocument(row) as StoredDocument<DocumentContents[Kind]>);
  }

  /** Says where an instrument of a rig is connected from now on; replaces what was said before. */
  connect(rig: string, instrument: string, settings: ConnectionSettings): void {
    this.#write(
      `INSERT INTO connection (rig, instrument, settings, changed_at) VALUES (?, ?, ?, ?)
       ON CONFLICT (rig, instrument) DO UPDATE SET settings = excluded.settings, changed_at = excluded.changed_at`,
      rig,
      instrument,
      canonicalJson(this.#checked(connectionSettingsSchema, settings)),
      this.#now(),
    );
  }

  /** Every instrument whose place is known. */
  listConnections(): KnownConnection[] {
    return this.#connection
      .prepare<[], { rig: string; instrument: string; settings: string }>(
        'SELECT rig, instrument, settings FROM connection ORDER BY rig, instrument',
      )
      .all()
      .map(({ rig, instrument, settings }) => ({
        rig,
        instrument,
        settings: connectionSettingsSchema.parse(JSON.parse(settings)),
      }));
  }

  /** Leaves one plain file. */
  close(): void {
    closeCleanly(this.#connection);
  }

  #person(code: string): PersonRow | undefined {
    return this.#connection.prepare<[string], PersonRow>('SELECT * FROM person WHERE code = ?').get(code);
  }

  #write(sql: string, ...values: unknown[]): void {
    try {
      this.#connection.prepare(sql).run(...values);
    } catch (error) {
      throw storageError(error, this.path);
    }
  }

  #checked<Value>(schema: z.ZodType<Value>, value: unknown): Value {
    const parsed = schema.safeParse(value);
    if (parsed.success) return parsed.data;
    throw new ChambersideError(
      'usage-bad-value',
      z.prettifyError(parsed.error),
      'laboratory',
      'Correct it and try again.',
    );
  }
}

function notFound(code: string): ChambersideError {
  const what = 'Nobody active is registered under this code';
  return new ChambersideError('person-not-found', what, code, 'List the people.');
}

function toPerson(row: PersonRow): Person {
  return {
    person: row.person,
    code: row.code,
    name: row.name,
    roles: JSON.parse(row.roles) as Role[],
    active: row.active === 1,
    createdAt: row.created_at,
  };
}

function toDocument<Content>(row: DocumentRow | undefined): StoredDocument<Content> | null {
  if (row === undefined) return null;
  const { name, version, digest, created_at: createdAt } = row;
  return { name, version, digest: toHexadecimal(digest), createdAt, content: JSON.parse(row.json) as Content };
}
