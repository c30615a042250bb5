import { z } from 'zod';
import { registerRecordSchema } from '../../calibration/register/record.ts';
import type { RegisterEntry, RegisterRecord } from '../../calibration/register/record.ts';
import { certificateFaults, foldRegister, placeFault } from '../../calibration/register/register.ts';
import type { RegisteredEntry } from '../../calibration/register/register.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { AttachedFile } from '../../model/certificate.ts';
import type { Rig } from '../../model/rig.ts';
import { describeAttachment } from './attached-file.ts';
import type { GivenAttachment } from './attached-file.ts';
import { canonicalJson } from './canonical-json.ts';
import { frozenDigest } from './chain.ts';
import { storageError } from './database.ts';
import type { Connection } from './database.ts';
import { equalBytes, sha256, toHexadecimal } from './digest.ts';

/** All records that are what was stored, and the numbers of those that are not, or are gone. */
export interface RegisterReading {
  readonly records: readonly RegisterRecord[];
  readonly altered: readonly number[];
}

type EntryOf<Kind extends RegisterEntry['entry']> = Extract<RegisterEntry, { entry: Kind }>;

/** The register of instruments in the laboratory file: records that are added, and never changed. */
export class LaboratoryRegister {
  readonly #connection: Connection;
  readonly #path: string;
  readonly #now: () => string;
  readonly #rigOf: (name: string) => Rig | undefined;

  constructor(connection: Connection, path: string, now: () => string, rigOf: (name: string) => Rig | undefined) {
    this.#connection = connection;
    this.#path = path;
    this.#now = now;
    this.#rigOf = rigOf;
  }

  /** In the order of their numbers. */
  read(): RegisterReading {
    const rows = this.#connection
      .prepare<[], { number: number; json: string; digest: Uint8Array }>(
        'SELECT number, json, digest FROM register_record ORDER BY number',
      )
      .all();
    const records: RegisterRecord[] = [];
    const altered: number[] = [];
    let next = 1;
    for (const { digest, json, number } of rows) {
      for (; next < number; next += 1) altered.push(next);
      next = number + 1;
      const parsed = equalBytes(frozenDigest(digestPart(number), json), digest) ? readRecord(json) : null;
      if (parsed === null) altered.push(number);
      else records.push({ ...parsed, number });
    }
    return { records, altered };
  }

  /** Every instrument as it stands. */
  entries(): RegisteredEntry[] {
    return foldRegister(this.read().records);
  }

  /**
   * Puts an entry down, with the file that came with a certificate.
   * @param person code of who says so. @param open a rig that something can be placed in besides those of the file.
   * @returns the number of its record.
   * @throws ChambersideError `usage-bad-value` where it has not the form, or cannot be; `instrument-exists`,
   *   `instrument-not-found`, `certificate-not-found`, `configuration-invalid` (the rig has no such place), and as
   *   `describeAttachment`.
   */
  add(entry: RegisterEntry, person: string, given: GivenAttachment | null = null, open: Rig | null = null): number {
    const file = given === null ? undefined : describeAttachment(given);
    const whole = file === undefined ? entry : withFile(entry, file);
    const record = checked({ at: this.#now(), person, entry: whole });
    try {
      return this.#connection
        .transaction(() => {
          this.#refuse(record.entry, open);
          if (given !== null) {
            this.#connection
              .prepare('INSERT INTO register_file (digest, bytes) VALUES (?, ?) ON CONFLICT DO NOTHING')
              .run(sha256(given.bytes), given.bytes);
          }
          const json = canonicalJson(record);
          const number = this.#nextNumber();
          this.#connection
            .prepare('INSERT INTO register_record (number, json, digest) VALUES (?, ?, ?)')
            .run(number, json, frozenDigest(digestPart(number), json));
          return number;
        })
        .immediate();
    } catch (error) {
      if (error instanceof ChambersideError) throw error;
      throw storageError(error, this.#path);
    }
  }

  /**
   * The bytes of the file that came with a certificate, as they were given; null where none did.
   * @throws ChambersideError `certificate-not-found`; `record-insufficient` when it is not what was stored.
   */
  file(record: number): { readonly file: AttachedFile; readonly bytes: Uint8Array } | null {
    const found = this.read().records.find(({ number }) => number === record);
    if (found?.entry.entry !== 'certificate') throw noCertificate(record);
    const { file } = found.entry.certificate;
    if (file === undefined) return null;
    const row = this.#connection
      .prepare<[Uint8Array], { bytes: Uint8Array }>('SELECT bytes FROM register_file WHERE digest = ?')
      .get(Buffer.from(file.digest, 'hex'));
    if (row !== undefined && toHexadecimal(sha256(row.bytes)) === file.digest) return { file, bytes: row.bytes };
    throw new ChambersideError(
      'record-insufficient',
      'The file is not what was stored',
      `${this.#path}, record ${record}`,
      'Take the laboratory file from a copy.',
    );
  }

  #nextNumber(): number {
    const { last } = this.#connection
      .prepare<[], { last: number | null }>('SELECT max(number) AS last FROM register_record')
      .get() as { last: number | null };
    return (last ?? 0) + 1;
  }

  #refuse(entry: RegisterEntry, open: Rig | null): void {
    const entries = this.entries();
    if (entry.entry === 'instrument') {
      refuseInstrument(entry, entries);
      return;
    }
    const known = entries.find(({ instrument }) => instrument === entry.instrument);
    if (known === undefined || known.retired !== null) {
      const what = known === undefined ? 'The register has no such instrument' : 'The laboratory has it no longer';
      throw new ChambersideError('instrument-not-found', what, entry.instrument, 'List them, or add it first.');
    }
    if (entry.entry === 'certificate') refuseCertificate(entry, known);
    if (entry.entry === 'withdrawn') {
      const kept = known.certificates.find(({ record }) => record === entry.record);
      if (kept === undefined) throw noCertificate(entry.record);
      if (kept.withdrawn !== null) throw badValue('The certificate is withdrawn already', `record ${entry.record}`);
    }
    if (entry.entry === 'placed') this.#refusePlace(entry, known, open);
  }

  #refusePlace(
    { at, rig: name }: EntryOf<'placed'>,
    { instrument, kind }: RegisteredEntry,
    open: Rig | null,
  ): void {
    if (at === null || name === null) return;
    const rig = this.#rigOf(name) ?? (open?.name === name ? open : undefined);
    const fault = rig === undefined ? 'the laboratory has no such rig' : placeFault(kind, at, rig);
    if (fault === null) return;
    throw new ChambersideError('configuration-invalid', fault, `${instrument} in rig ${name}`, 'Choose another place.');
  }
}

/** Bound to its number, so that two records that changed places show. */
function digestPart(number: number): string {
  return `register-record ${number}`;
}

function readRecord(json: string): z.infer<typeof registerRecordSchema> | null {
  const parsed = registerRecordSchema.safeParse(JSON.parse(json));
  return parsed.success ? parsed.data : null;
}

function checked(record: unknown): z.infer<typeof registerRecordSchema> {
  const parsed = registerRecordSchema.safeParse(record);
  if (parsed.success) return parsed.data;
  throw badValue(z.prettifyError(parsed.error), 'register of instruments');
}

function withFile(entry: RegisterEntry, file: AttachedFile): RegisterEntry {
  if (entry.entry !== 'certificate') throw new RangeError('only a certificate comes with a file');
  return { ...entry, certificate: { ...entry.certificate, file } };
}

function refuseInstrument(wanted: EntryOf<'instrument'>, entries: readonly RegisteredEntry[]): void {
  const known = entries.find(({ instrument }) => instrument === wanted.instrument);
  if (known !== undefined && known.kind !== wanted.kind) {
    throw badValue(`It is registered as a ${known.kind}, which stays`, wanted.instrument);
  }
  const same = entries.find(
    ({ instrument, maker, model, retired, serial }) =>
      instrument !== wanted.instrument &&
      retired === null &&
      (maker === wanted.maker && model === wanted.model && serial === wanted.serial),
  );
  if (same === undefined) return;
  const what = `Maker, model and serial number are those of ${same.instrument}`;
  throw new ChambersideError('instrument-exists', what, wanted.instrument, 'Use that one, or correct the number.');
}

function refuseCertificate({ certificate }: EntryOf<'certificate'>, known: RegisteredEntry): void {
  const { issuer, number, quantity } = certificate;
  const [fault] = certificateFaults(known, certificate);
  if (fault !== undefined) throw badValue(`${fault.member} ${fault.fault}`, `certificate ${number}`);
  const twice = known.certificates.some(
    ({ certificate: other, withdrawn }) =>
      withdrawn === null && other.number === number && other.issuer === issuer && other.quantity === quantity,
  );
  if (twice) throw badValue(`The register has it already, for ${quantity}`, `certificate ${number}`);
}

function badValue(what: string, where: string): ChambersideError {
  return new ChambersideError('usage-bad-value', what, where, 'Correct it and try again.');
}

function noCertificate(record: number): ChambersideError {
  const remedy = 'Choose one of the history of an instrument.';
  return new ChambersideError('certificate-not-found', 'No certificate has this number', `record ${record}`, remedy);
}
