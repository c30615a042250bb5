import { ByteReader } from './byte-reader.ts';
import { ByteWriter } from './byte-writer.ts';
import { digestLength, sha256 } from './digest.ts';
import type { ReadingBlock } from './encoding.ts';

/**
 * The canonical bytes that digests are taken over, exactly as docs/formats/chain.md describes them. They do not
 * depend on tables or columns; a change here needs a new label (`… 2`) and leaves the old one readable.
 */

const scratch = new ByteWriter(4096);

/** What a chunk of the current link is called in the link's body. */
export interface ChunkReference {
  readonly stream: number;
  readonly digest: Uint8Array;
}

export interface WireReference {
  readonly instrument: number;
  /** 0 in, 1 out. */
  readonly direction: number;
  readonly digest: Uint8Array;
}

export interface LinkBody {
  readonly trial: string;
  readonly link: number;
  /** Second of trial time in which it begins. */
  readonly second: number;
  readonly fromMicroseconds: number;
  /** First microsecond after it. */
  readonly throughMicroseconds: number;
  readonly previous: Uint8Array;
  /** Ascending by stream. */
  readonly chunks: readonly ChunkReference[];
  /** Ascending by instrument, then direction. */
  readonly wires: readonly WireReference[];
  /** In order of arrival. */
  readonly events: readonly Uint8Array[];
}

export interface FrozenReference {
  readonly part: string;
  readonly digest: Uint8Array;
}

/** Link 0. */
export interface TrialBody {
  readonly trial: string;
  readonly genesis: Uint8Array;
  /** Ascending by part. */
  readonly parts: readonly FrozenReference[];
}

export interface SealBody {
  readonly study: string;
  readonly seal: number;
  readonly previous: Uint8Array;
  readonly trial: string;
  readonly links: number;
  readonly head: Uint8Array;
  readonly sealedAt: string;
}

/** Digest of the study's own row: where the chain of seals begins. */
export function studyDigest(study: string, name: string, createdAt: string): Uint8Array {
  return sha256(scratch.reset().text('chamberside study 1').text(study).text(name).text(createdAt).view());
}

/** Digest of one frozen configuration in canonical JSON. */
export function frozenDigest(part: string, json: string): Uint8Array {
  return sha256(scratch.reset().text('chamberside frozen 1').text(part).text(json).view());
}

/** Digest of readings as values, whatever their encoding. */
export function readingsDigest(block: ReadingBlock): Uint8Array {
  scratch.reset().text('chamberside readings 1').u32(block.times.length);
  for (const time of block.times) scratch.f64(time);
  for (const value of block.values) scratch.f64(value);
  return sha256(scratch.view());
}

/** Digest of a chunk of readings as it is stored. */
export function chunkDigest(
  encoding: string,
  cipher: string,
  count: number,
  content: Uint8Array,
  blob: Uint8Array,
): Uint8Array {
  scratch.reset().text('chamberside chunk 1').text(encoding).text(cipher).u32(count).raw(content).bytes(blob);
  return sha256(scratch.view());
}

/** Digest of a chunk of wire bytes as it is stored. */
export function wireDigest(encoding: string, cipher: string, count: number, blob: Uint8Array): Uint8Array {
  return sha256(scratch.reset().text('chamberside wire 1').text(encoding).text(cipher).u32(count).bytes(blob).view());
}

/** Digest of an event in canonical JSON. */
export function eventDigest(json: string): Uint8Array {
  return sha256(scratch.reset().text('chamberside event 1').text(json).view());
}

export function writeTrialBody(body: TrialBody): Uint8Array {
  scratch.reset().text('chamberside trial 1').text(body.trial).raw(body.genesis).u32(body.parts.length);
  for (const { part, digest } of body.parts) scratch.text(part).raw(digest);
  return scratch.copy();
}

/** @throws RangeError when the bytes are not the body of a link 0. */
export function readTrialBody(bytes: Uint8Array): TrialBody {
  const reader = new ByteReader(bytes);
  if (reader.text() !== 'chamberside trial 1') throw new RangeError('not the first link of a trial');
  const trial = reader.text();
  const genesis = reader.raw(digestLength);
  const parts: FrozenReference[] = [];
  for (let count = reader.u32(); count > 0; count -= 1) {
    parts.push({ part: reader.text(), digest: reader.raw(digestLength) });
  }
  reader.end();
  return { trial, genesis, parts };
}

export function writeLinkBody(body: LinkBody): Uint8Array {
  scratch.reset().text('chamberside link 1').text(body.trial).u64(body.link).u64(body.second);
  scratch.u64(body.fromMicroseconds).u64(body.throughMicroseconds).raw(body.previous);
  scratch.u32(body.chunks.length);
  for (const { stream, digest } of body.chunks) scratch.u32(stream).raw(digest);
  scratch.u32(body.wires.length);
  for (const { instrument, direction, digest } of body.wires) scratch.u32(instrument).u8(direction).raw(digest);
  scratch.u32(body.events.length);
  for (const digest of body.events) scratch.raw(digest);
  return scratch.copy();
}

/** @throws RangeError when the bytes are not the body of a link from 1 on. */
export function readLinkBody(bytes: Uint8Array): LinkBody {
  const reader = new ByteReader(bytes);
  if (reader.text() !== 'chamberside link 1') throw new RangeError('not a link');
  const trial = reader.text();
  const link = reader.u64();
  const second = reader.u64();
  const fromMicroseconds = reader.u64();
  const throughMicroseconds = reader.u64();
  const previous = reader.raw(digestLength);
  const chunks: ChunkReference[] = [];
  for (let count = reader.u32(); count > 0; count -= 1) {
    chunks.push({ stream: reader.u32(), digest: reader.raw(digestLength) });
  }
  const wires: WireReference[] = [];
  for (let count = reader.u32(); count > 0; count -= 1) {
    wires.push({ instrument: reader.u32(), direction: reader.u8(), digest: reader.raw(digestLength) });
  }
  const events: Uint8Array[] = [];
  for (let count = reader.u32(); count > 0; count -= 1) events.push(reader.raw(digestLength));
  reader.end();
  return { trial, link, second, fromMicroseconds, throughMicroseconds, previous, chunks, wires, events };
}

export function writeSealBody(body: SealBody): Uint8Array {
  scratch.reset().text('chamberside seal 1').text(body.study).u64(body.seal).raw(body.previous).text(body.trial);
  return scratch.u64(body.links).raw(body.head).text(body.sealedAt).copy();
}

/** @throws RangeError when the bytes are not the body of a seal. */
export function readSealBody(bytes: Uint8Array): SealBody {
  const reader = new ByteReader(bytes);
  if (reader.text() !== 'chamberside seal 1') throw new RangeError('not a seal');
  const study = reader.text();
  const seal = reader.u64();
  const previous = reader.raw(digestLength);
  const trial = reader.text();
  const links = reader.u64();
  const head = reader.raw(digestLength);
  const sealedAt = reader.text();
  reader.end();
  return { study, seal, previous, trial, links, head, sealedAt };
}

/** Digest of a stored voiding in canonical JSON. */
export function voidingDigest(json: string): Uint8Array {
  return sha256(scratch.reset().text('chamberside voiding 1').text(json).view());
}

/** Digest of the decisions of a study that trials are void, in their order: as far as a signature knew them. */
export function voidingsDigest(digests: readonly Uint8Array[]): Uint8Array {
  scratch.reset().text('chamberside voidings 1').u32(digests.length);
  for (const digest of digests) scratch.raw(digest);
  return sha256(scratch.view());
}

/** Digest of a stored signature in canonical JSON. */
export function signatureDigest(json: string): Uint8Array {
  return sha256(scratch.reset().text('chamberside signature 1').text(json).view());
}

/** Digest of a stored assessment in canonical JSON. */
export function assessmentDigest(json: string): Uint8Array {
  return sha256(scratch.reset().text('chamberside assessment 1').text(json).view());
}
