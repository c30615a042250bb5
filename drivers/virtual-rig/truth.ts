/**
 * The truth record: what no instrument of the program stands between. A file of its own beside the trial, written
 * by the virtual rig, read only by a rehearsal's summary.
 *
 * All numbers are little-endian. A file is one run after another (a resumed rehearsal appends its own); a run is a
 * header and its blocks.
 *
 *     header   8 bytes  "CSTRUTH1"
 *              uint32   length of the text that follows, bytes
 *              text     JSON (ASCII): { "binMicroseconds", "unit", "probes": [...], "backgrounds": [...] }, and where
 *                       probes lie in the breathing zone "breathing": [...] with their names
 *     block    4 bytes  "BLCK"
 *              uint32   number of bins n
 *              float64  beginning of the first bin on the rig's monotonic clock, µs
 *              n × (2 + probes [+ 1]) float64, bin by bin:
 *                       challenge at the subject's place (0 outside the chamber), chamber at the reference point,
 *                       leak-borne concentration at each probe's cell, in the header's order; with "breathing"
 *                       one more in each bin: share of it during which the subject breathed in
 *              uint32   sum of all bytes of the block before it, modulo 2³²
 *
 * A value is the mean over its bin. Backgrounds (the ensemble's own aerosol at each probe) are constant, do not
 * come from leakage and are not in the cells. A block that is torn or damaged ends its run; what follows is read
 * again from the next header.
 */
import { z } from 'zod';
import { bytesToText, textToBytes } from '../../src/model/bytes.ts';
import { slugSchema } from '../../src/model/identity.ts';
import { unitNames } from '../../src/model/unit.ts';
import type { TruthSink } from './contract.ts';

const headerMark = 'CSTRUTH1';
const blockMark = 'BLCK';
const blockHeadBytes = 16;
const checkBytes = 4;
const longestBlockBins = 100_000;

const headerSchema = z.object({
  binMicroseconds: z.number().int().positive(),
  unit: z.enum(unitNames),
  probes: z.array(slugSchema).min(1),
  backgrounds: z.array(z.number()),
  breathing: z.array(slugSchema).optional(),
});
export type TruthHeader = z.infer<typeof headerSchema>;

/** Bins that follow each other without a gap. */
export interface TruthStretch {
  readonly fromMicroseconds: number;
  readonly binMicroseconds: number;
  readonly challenge: Float64Array;
  readonly reference: Float64Array;
  /** By probe, in the order of `Truth.probes`. */
  readonly cells: readonly Float64Array[];
  /** Share of the bin during which the subject breathed in; null where the truth does not tell. */
  readonly inspired: Float64Array | null;
}

export interface Truth {
  readonly unit: TruthHeader['unit'];
  readonly probes: readonly string[];
  readonly backgrounds: readonly number[];
  /** Probes in the breathing zone: what leaks is what the subject breathes in. */
  readonly breathing: readonly string[];
  /** In the order of their time. */
  readonly stretches: readonly TruthStretch[];
  /** Bytes that belong to no whole header or block. */
  readonly tornBytes: number;
}

/** Collects bins and hands them on in blocks. */
export class TruthWriter {
  readonly #sink: TruthSink;
  readonly #binMicroseconds: number;
  readonly #columns: number;
  readonly #breathing: boolean;
  readonly #capacity: number;
  readonly #values: Float64Array;
  #bins = 0;
  #firstBinAtMicroseconds = 0;

  /** Writes the header at once. @param binsPerBlock how many bins make a block. */
  constructor(sink: TruthSink, header: TruthHeader, binsPerBlock: number) {
    this.#sink = sink;
    this.#binMicroseconds = header.binMicroseconds;
    this.#columns = columnsOf(header);
    this.#breathing = header.breathing !== undefined;
    this.#capacity = binsPerBlock;
    this.#values = new Float64Array(binsPerBlock * this.#columns);
    const text = textToBytes(JSON.stringify(header));
    const bytes = new Uint8Array(headerMark.length + 4 + text.length);
    bytes.set(textToBytes(headerMark));
    new DataView(bytes.buffer).setUint32(headerMark.length, text.length, true);
    bytes.set(text, headerMark.length + 4);
    sink.append(bytes);
  }

  /** A bin that begins at this time; the next one must follow it without a gap. */
  add(atMicroseconds: number, challenge: number, reference: number, cells: ArrayLike<number>, inspired: number): void {
    if (this.#bins === 0) this.#firstBinAtMicroseconds = atMicroseconds;
    let at = this.#bins * this.#columns;
    this.#values[at++] = challenge;
    this.#values[at++] = reference;
    for (let index = 0; index < cells.length; index += 1) this.#values[at++] = cells[index] as number;
    if (this.#breathing) this.#values[at++] = inspired;
    this.#bins += 1;
    if (this.#bins === this.#capacity) this.flush();
  }

  flush(): void {
    if (this.#bins === 0) return;
    const count = this.#bins * this.#columns;
    const bytes = new Uint8Array(blockHeadBytes + count * 8 + checkBytes);
    const view = new DataView(bytes.buffer);
    bytes.set(textToBytes(blockMark));
    view.setUint32(4, this.#bins, true);
    view.setFloat64(8, this.#firstBinAtMicroseconds, true);
    for (let index = 0; index < count; index += 1) {
      view.setFloat64(blockHeadBytes + index * 8, this.#values[index] as number, true);
    }
    view.setUint32(bytes.length - checkBytes, sumOfBytes(bytes, 0, bytes.length - checkBytes), true);
    this.#bins = 0;
    this.#sink.append(bytes);
  }

  get binMicroseconds(): number {
    return this.#binMicroseconds;
  }
}

function columnsOf({ breathing, probes }: TruthHeader): number {
  return 2 + probes.length + (breathing === undefined ? 0 : 1);
}

interface Block {
  readonly fromMicroseconds: number;
  readonly bins: number;
  readonly offset: number;
}

interface Run {
  readonly header: TruthHeader;
  readonly blocks: Block[];
}

/**
 * Reads a truth file. Never throws for torn or foreign bytes: they are counted.
 * @returns null when not even one header can be read, or when runs of different rigs are in one file.
 */
export function decodeTruth(bytes: Uint8Array): Truth | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const runs: Run[] = [];
  let torn = 0;
  let at = 0;
  while (at < bytes.length) {
    const header = readHeader(bytes, view, at);
    if (header !== null) {
      runs.push({ header: header.header, blocks: [] });
      at = header.end;
      continue;
    }
    const run = runs.at(-1);
    const block = run === undefined ? null : readBlock(bytes, view, at, columnsOf(run.header));
    if (run !== undefined && block !== null) {
      run.blocks.push(block.block);
      at = block.end;
      continue;
    }
    const next = findHeader(bytes, view, at + 1);
    torn += next - at;
    at = next;
  }
  const first = runs[0];
  if (first === undefined) return null;
  const { breathing = [], probes, unit } = first.header;
  const kindOf = (header: TruthHeader): string => JSON.stringify([header.unit, header.probes, header.breathing]);
  if (runs.some((run) => kindOf(run.header) !== kindOf(first.header))) return null;
  const stretches = runs.flatMap((run) => joined(run, view));
  stretches.sort((one, other) => one.fromMicroseconds - other.fromMicroseconds);
  return { unit, probes, backgrounds: first.header.backgrounds, breathing, stretches, tornBytes: torn };
}

/**
 * True leakage of a probe over an interval of the rig's monotonic clock: 100 · ∫ cell / ∫ challenge, %, where bins
 * that the interval cuts count by the part inside. In the breathing zone the mean of the cell is over what was breathed
 * in: ∫ cell · inspired / ∫ inspired.
 * @returns null where the record does not cover the whole interval, the probe is unknown, or there is no challenge.
 */
export function truthLeakagePercent(
  truth: Truth,
  probe: string,
  fromMicroseconds: number,
  toMicroseconds: number,
): number | null {
  const column = truth.probes.indexOf(probe);
  if (column < 0 || !(toMicroseconds > fromMicroseconds)) return null;
  for (const stretch of truth.stretches) {
    const from = (fromMicroseconds - stretch.fromMicroseconds) / stretch.binMicroseconds;
    const to = (toMicroseconds - stretch.fromMicroseconds) / stretch.binMicroseconds;
    if (from < 0 || to > stretch.challenge.length) continue;
    const challenge = integral(stretch.challenge, from, to);
    const cells = stretch.cells[column] as Float64Array;
    const inspired = truth.breathing.includes(probe) ? stretch.inspired : null;
    const cell =
      inspired === null
        ? integral(cells, from, to)
        : ((to - from) * integral(cells, from, to, inspired)) / integral(inspired, from, to);
    const percent = (100 * cell) / challenge;
    return Number.isFinite(percent) ? percent : null;
  }
  return null;
}

/** Sum of bins between two fractional bin numbers inside the array, each by its weight where there are weights. */
function integral(values: Float64Array, from: number, to: number, weights?: Float64Array): number {
  const first = Math.floor(from);
  const last = Math.min(values.length - 1, Math.floor(to));
  let sum = 0;
  for (let index = first; index <= last; index += 1) {
    const part = Math.min(to, index + 1) - Math.max(from, index);
    sum += part * (values[index] as number) * (weights?.[index] ?? 1);
  }
  return sum;
}

function joined(run: Run, view: DataView): TruthStretch[] {
  const columns = columnsOf(run.header);
  const binMicroseconds = run.header.binMicroseconds;
  const stretches: TruthStretch[] = [];
  let start = 0;
  while (start < run.blocks.length) {
    const first = run.blocks[start] as Block;
    let bins = first.bins;
    let end = start + 1;
    while (end < run.blocks.length) {
      const block = run.blocks[end] as Block;
      if (Math.abs(block.fromMicroseconds - (first.fromMicroseconds + bins * binMicroseconds)) > 0.5) break;
      bins += block.bins;
      end += 1;
    }
    const challenge = new Float64Array(bins);
    const reference = new Float64Array(bins);
    const cells = run.header.probes.map(() => new Float64Array(bins));
    const inspired = run.header.breathing === undefined ? null : new Float64Array(bins);
    let bin = 0;
    for (const block of run.blocks.slice(start, end)) {
      for (let index = 0; index < block.bins; index += 1) {
        const offset = block.offset + index * columns * 8;
        challenge[bin] = view.getFloat64(offset, true);
        reference[bin] = view.getFloat64(offset + 8, true);
        for (const [column, cell] of cells.entries()) cell[bin] = view.getFloat64(offset + 16 + column * 8, true);
        if (inspired !== null) inspired[bin] = view.getFloat64(offset + (columns - 1) * 8, true);
        bin += 1;
      }
    }
    const { fromMicroseconds } = first;
    stretches.push({ fromMicroseconds, binMicroseconds, challenge, reference, cells, inspired });
    start = end;
  }
  return stretches;
}

function readHeader(bytes: Uint8Array, view: DataView, at: number): { header: TruthHeader; end: number } | null {
  if (at + headerMark.length + 4 > bytes.length || !hasMark(bytes, at, headerMark)) return null;
  const length = view.getUint32(at + headerMark.length, true);
  const begin = at + headerMark.length + 4;
  if (begin + length > bytes.length) return null;
  try {
    const parsed = headerSchema.safeParse(JSON.parse(bytesToText(bytes.subarray(begin, begin + length))));
    return parsed.success ? { header: parsed.data, end: begin + length } : null;
  } catch {
    // Not JSON: damaged, and counted as torn by the caller.
    return null;
  }
}

function readBlock(
  bytes: Uint8Array,
  view: DataView,
  at: number,
  columns: number,
): { block: Block; end: number } | null {
  if (at + blockHeadBytes > bytes.length || !hasMark(bytes, at, blockMark)) return null;
  const bins = view.getUint32(at + 4, true);
  if (bins === 0 || bins > longestBlockBins) return null;
  const check = at + blockHeadBytes + bins * columns * 8;
  if (check + checkBytes > bytes.length) return null;
  if (view.getUint32(check, true) !== sumOfBytes(bytes, at, check)) return null;
  const fromMicroseconds = view.getFloat64(at + 8, true);
  return { block: { fromMicroseconds, bins, offset: at + blockHeadBytes }, end: check + checkBytes };
}

function findHeader(bytes: Uint8Array, view: DataView, from: number): number {
  for (let at = from; at < bytes.length; at += 1) {
    if (hasMark(bytes, at, headerMark) && readHeader(bytes, view, at) !== null) return at;
  }
  return bytes.length;
}

function hasMark(bytes: Uint8Array, at: number, mark: string): boolean {
  if (at + mark.length > bytes.length) return false;
  for (let index = 0; index < mark.length; index += 1) {
    if (bytes[at + index] !== mark.charCodeAt(index)) return false;
  }
  return true;
}

function sumOfBytes(bytes: Uint8Array, from: number, to: number): number {
  let sum = 0;
  for (let index = from; index < to; index += 1) sum = (sum + (bytes[index] as number)) >>> 0;
  return sum;
}
