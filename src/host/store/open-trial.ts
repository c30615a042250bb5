import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import { canonicalJson } from './canonical-json.ts';
import type { Acknowledgement, SealResult, TrialRecorder, WireDirection } from './contract.ts';
import { OpenLink } from './open-link.ts';
import type { LinkData, TrialPosition } from './protocol.ts';

/** What a trial needs from the study it is recorded into. */
export interface TrialHost {
  links(links: readonly LinkData[]): void;
  seal(): Promise<SealResult>;
  ended(): void;
}

const second = 1_000_000;
/** Something stamped further ahead than this is a defect; it would make links without end. */
const furthestAheadMicroseconds = 3600 * second;

interface Waiter {
  readonly link: number;
  readonly resolve: () => void;
  readonly reject: (error: Error) => void;
}

/** The open seconds of one trial, in memory, and what was handed over but is not acknowledged yet. */
export class OpenTrial implements TrialRecorder {
  readonly trial: Identifier;
  readonly #host: TrialHost;
  readonly #streams: number;
  readonly #instruments: number;
  readonly #listeners = new Set<(acknowledgement: Acknowledgement) => void>();
  readonly #open = new Map<number, OpenLink>();
  #waiters: Waiter[] = [];
  #unacknowledged: LinkData[] = [];
  #acknowledged: Acknowledgement;
  /** Number of the last link that was closed, and where the next one begins. */
  #link: number;
  #from: number;
  #latest = 0;
  #segment: number;
  #ended: 'no' | 'sealed' | 'abandoned' | 'failed' = 'no';

  constructor(position: TrialPosition, segment: TimeSegment, host: TrialHost) {
    this.trial = position.trial;
    this.#host = host;
    this.#streams = position.streams;
    this.#instruments = position.instruments;
    this.#link = position.lastLink;
    this.#acknowledged = { link: position.lastLink, throughMicroseconds: position.throughMicroseconds };
    this.#from = segment.beginsAtMicroseconds;
    this.#segment = segment.segment;
    this.#writeSegment(segment);
  }

  /** Links closed but not acknowledged. */
  get waiting(): number {
    return this.#unacknowledged.length;
  }

  reading(streamIndex: number, atMicroseconds: number, value: number): void {
    if (!(streamIndex >= 0 && streamIndex < this.#streams)) throw this.#defect(`no stream ${streamIndex}`);
    this.#at(atMicroseconds).reading(streamIndex, atMicroseconds, value);
  }

  wire(instrumentIndex: number, direction: WireDirection, atMicroseconds: number, bytes: Uint8Array): void {
    if (!(instrumentIndex >= 0 && instrumentIndex < this.#instruments))
      throw this.#defect(`no instrument ${instrumentIndex}`);
    this.#at(atMicroseconds).wire(instrumentIndex, direction, atMicroseconds, bytes);
  }

  event(event: TrialEvent): void {
    if (event.kind === 'segment-began' && event.segment.segment === this.#segment) return;
    let json: string;
    try {
      json = canonicalJson(event);
    } catch (error) {
      throw this.#defect(`an event of kind ${event.kind} cannot be stored: ${(error as Error).message}`);
    }
    this.#at(event.atMicroseconds).event(event.atMicroseconds, event.kind, json);
  }

  handOver(boundaryMicroseconds: number): void {
    this.#assertOpen();
    const closed: LinkData[] = [];
    for (let end = secondEnd(this.#from); end <= boundaryMicroseconds; end = secondEnd(this.#from)) {
      closed.push(this.#close(end));
    }
    this.#post(closed);
  }

  beginSegment(segment: TimeSegment): void {
    this.#assertOpen();
    const earliest = Math.max(this.#from, this.#latest);
    if (segment.segment !== this.#segment + 1 || segment.beginsAtMicroseconds < earliest) {
      throw this.#defect(`segment ${segment.segment} at ${segment.beginsAtMicroseconds} µs does not follow`);
    }
    this.closeOpen();
    this.#from = segment.beginsAtMicroseconds;
    this.#segment = segment.segment;
    this.#writeSegment(segment);
  }

  acknowledged(): Acknowledgement {
    return this.#acknowledged;
  }

  onAcknowledged(callback: (acknowledgement: Acknowledgement) => void): () => void {
    this.#listeners.add(callback);
    return () => void this.#listeners.delete(callback);
  }

  settled(): Promise<void> {
    if (this.#acknowledged.link >= this.#link) return Promise.resolve();
    return new Promise((resolve, reject) => {
      this.#waiters.push({ link: this.#link, resolve, reject });
    });
  }

  async seal(): Promise<SealResult> {
    this.#assertOpen();
    this.closeOpen();
    this.#ended = 'sealed';
    await this.settled();
    try {
      const result = await this.#host.seal();
      this.#host.ended();
      return result;
    } catch (error) {
      // A full disk can refuse the seal; it may be asked for again.
      this.#ended = 'no';
      throw error;
    }
  }

  async abandon(): Promise<void> {
    this.#assertOpen();
    this.closeOpen();
    this.#ended = 'abandoned';
    await this.settled();
    this.#host.ended();
  }

  /** Closes and posts all that is open, the last second cut off behind its last item. */
  closeOpen(): void {
    if (this.#ended !== 'no' || this.#open.size === 0) return;
    const last = Math.max(this.#latest, this.#from);
    const closed: LinkData[] = [];
    while (secondEnd(this.#from) <= last) closed.push(this.#close(secondEnd(this.#from)));
    if (this.#open.size > 0) closed.push(this.#close(last + 1));
    this.#post(closed);
  }

  /** The writer says that everything up to this link is on disk. */
  committed(link: number, throughMicroseconds: number): void {
    if (link <= this.#acknowledged.link) return;
    this.#acknowledged = { link, throughMicroseconds };
    let done = 0;
    while (done < this.#unacknowledged.length && (this.#unacknowledged[done]?.link ?? Infinity) <= link) done += 1;
    this.#unacknowledged.splice(0, done);
    const waiters = this.#waiters;
    this.#waiters = waiters.filter((waiter) => waiter.link > link);
    for (const waiter of waiters) if (waiter.link <= link) waiter.resolve();
    for (const listener of this.#listeners) listener(this.#acknowledged);
  }

  handOverAgain(): void {
    if (this.#unacknowledged.length > 0) this.#host.links(this.#unacknowledged);
  }

  /** The study is closed; whoever still waits learns that it is not committed. */
  fail(error: Error): void {
    this.#ended = 'failed';
    for (const waiter of this.#waiters) waiter.reject(error);
    this.#waiters = [];
  }

  #writeSegment(segment: TimeSegment): void {
    const atMicroseconds = segment.beginsAtMicroseconds;
    const event: TrialEvent = { kind: 'segment-began', atMicroseconds, segment };
    this.#at(atMicroseconds).event(atMicroseconds, event.kind, canonicalJson(event));
  }

  /** The open second that a time belongs to; what comes late goes into the oldest one and keeps its own time. */
  #at(atMicroseconds: number): OpenLink {
    this.#assertOpen();
    if (!Number.isSafeInteger(atMicroseconds) || atMicroseconds < 0)
      throw this.#defect(`${atMicroseconds} is no trial time`);
    if (atMicroseconds > this.#from + furthestAheadMicroseconds)
      throw this.#defect(`${atMicroseconds} µs lies far ahead`);
    if (atMicroseconds > this.#latest) this.#latest = atMicroseconds;
    const key = Math.floor(Math.max(atMicroseconds, this.#from) / second);
    let open = this.#open.get(key);
    if (open === undefined) this.#open.set(key, (open = new OpenLink()));
    return open;
  }

  #close(throughMicroseconds: number): LinkData {
    const key = Math.floor(this.#from / second);
    const open = this.#open.get(key) ?? new OpenLink();
    this.#open.delete(key);
    this.#link += 1;
    const closed = open.close(this.#link, this.#from, throughMicroseconds);
    this.#from = throughMicroseconds;
    return closed;
  }

  #post(closed: readonly LinkData[]): void {
    if (closed.length === 0) return;
    this.#unacknowledged.push(...closed);
    this.#host.links(closed);
  }

  #assertOpen(): void {
    if (this.#ended === 'sealed') {
      throw new ChambersideError('trial-sealed', 'The trial is sealed', this.trial, 'Record a new trial.');
    }
    if (this.#ended !== 'no') throw this.#defect('its recording has ended');
  }

  #defect(what: string): ChambersideError {
    return new ChambersideError('internal', `The trial cannot record this: ${what}`, this.trial, 'Report this.');
  }
}

/** End of the second that a time lies in, µs. */
function secondEnd(atMicroseconds: number): number {
  return (Math.floor(atMicroseconds / second) + 1) * second;
}
