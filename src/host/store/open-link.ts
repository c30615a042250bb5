import type { WireDirection } from './contract.ts';
import type { LinkData } from './protocol.ts';

/** Grows by doubling; the readings of one stream in one open second. */
class ReadingBuffer {
  #times = new Float64Array(64);
  #values = new Float64Array(64);
  #count = 0;

  push(atMicroseconds: number, value: number): void {
    if (this.#count === this.#times.length) {
      this.#times = enlarged(this.#times, this.#count * 2);
      this.#values = enlarged(this.#values, this.#count * 2);
    }
    this.#times[this.#count] = atMicroseconds;
    this.#values[this.#count] = value;
    this.#count += 1;
  }

  take(): { times: Float64Array; values: Float64Array } {
    return { times: this.#times.slice(0, this.#count), values: this.#values.slice(0, this.#count) };
  }
}

function enlarged(array: Float64Array, length: number): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(length);
  larger.set(array);
  return larger;
}

/** The reads of one instrument and direction in one open second; bytes are copied on arrival. */
class WireBuffer {
  readonly #times: number[] = [];
  readonly #lengths: number[] = [];
  #bytes = new Uint8Array(1024);
  #count = 0;

  push(atMicroseconds: number, bytes: Uint8Array): void {
    const needed = this.#count + bytes.length;
    if (needed > this.#bytes.length) {
      const larger = new Uint8Array(Math.max(needed, this.#bytes.length * 2));
      larger.set(this.#bytes);
      this.#bytes = larger;
    }
    this.#bytes.set(bytes, this.#count);
    this.#count = needed;
    this.#times.push(atMicroseconds);
    this.#lengths.push(bytes.length);
  }

  take(): { times: Float64Array; lengths: Float64Array; bytes: Uint8Array } {
    return {
      times: Float64Array.from(this.#times),
      lengths: Float64Array.from(this.#lengths),
      bytes: this.#bytes.slice(0, this.#count),
    };
  }
}

/** What has arrived for one second that is not handed over yet. */
export class OpenLink {
  readonly #readings = new Map<number, ReadingBuffer>();
  readonly #wires = new Map<number, WireBuffer>();
  readonly #events: { atMicroseconds: number; kind: string; json: string }[] = [];

  reading(stream: number, atMicroseconds: number, value: number): void {
    let buffer = this.#readings.get(stream);
    if (buffer === undefined) this.#readings.set(stream, (buffer = new ReadingBuffer()));
    buffer.push(atMicroseconds, value);
  }

  wire(instrument: number, direction: WireDirection, atMicroseconds: number, bytes: Uint8Array): void {
    const key = instrument * 2 + (direction === 'in' ? 0 : 1);
    let buffer = this.#wires.get(key);
    if (buffer === undefined) this.#wires.set(key, (buffer = new WireBuffer()));
    buffer.push(atMicroseconds, bytes);
  }

  event(atMicroseconds: number, kind: string, json: string): void {
    this.#events.push({ atMicroseconds, kind, json });
  }

  /** The finished link: chunks ascending by stream, wire bytes by instrument then direction (in before out). */
  close(link: number, fromMicroseconds: number, throughMicroseconds: number): LinkData {
    const ascending = (one: readonly [number, unknown], other: readonly [number, unknown]): number => one[0] - other[0];
    return {
      link,
      fromMicroseconds,
      throughMicroseconds,
      chunks: [...this.#readings].sort(ascending).map(([stream, buffer]) => ({ stream, ...buffer.take() })),
      wires: [...this.#wires]
        .sort(ascending)
        .map(([key, buffer]) => ({ instrument: Math.floor(key / 2), direction: key % 2, ...buffer.take() })),
      events: this.#events,
    };
  }
}
