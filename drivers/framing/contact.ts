import { z } from 'zod';
import type { OutputDescriptor } from '../../src/device/driver.ts';
import { contactStreams } from '../../src/model/contact.ts';
import type { ContactStream } from '../../src/model/contact.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import type { Quantity } from './quantity.ts';

/** What instruments of the kind `contact` read: 1 while pressed or open, 0 at rest. */
export const contactQuantities: readonly Quantity[] = contactStreams.map((stream) => ({
  stream,
  unit: 'one',
  resolution: 1,
  plausibleLow: 0,
  plausibleHigh: 1,
}));

/** The lamp or horn that a contact instrument may switch: 0 is off. */
export const beaconOutput: OutputDescriptor = { output: 'beacon', unit: 'one', low: 0, high: 1, restValue: 0 };

/** How a contact stands when nobody touches it. */
const normallySchema = z.enum(['closed', 'open']).default('closed');

/** Settings that every dialect of contacts has. */
export const contactShape = {
  /**
   * How each contact stands while it is at rest. Default `closed`: then a cut wire is the same as a pressed stop or an
   * open door. Of a contact that is `open` at rest, a cut wire looks like rest.
   */
  normally: z
    .strictObject({ stop: normallySchema, 'foot-stop': normallySchema, door: normallySchema })
    .prefault({}),
  /**
   * How long a contact must have been at rest without a break before it counts as at rest again, s, 0 to 1.
   * Default 0.05. Pressing counts at once.
   */
  debounceSeconds: z.number().min(0).max(1).default(0.05),
};

export interface ContactSettings {
  readonly normally: Readonly<Record<ContactStream, 'closed' | 'open'>>;
  readonly debounceSeconds: number;
}

/** Whether each contact that is read is closed, by stream. */
export type ClosedContacts = ReadonlyMap<string, boolean>;

/** Values of the streams, in the order of the contacts. */
export type ContactReader = (closed: ClosedContacts, atMicroseconds: number) => Map<string, number>;

/**
 * Makes readings of closed and open contacts. One that leaves its rest counts at once; it is at rest again when it was
 * seen at rest, and nothing else, for `debounceSeconds`: a contact that bounces is pressed once.
 */
export function createContactReader(settings: ContactSettings): ContactReader {
  const debounceMicroseconds = toMicroseconds(settings.debounceSeconds);
  /** Of each contact that was pressed: since when it has been at rest; null while it is pressed. */
  const restingSince = new Map<string, number | null>();
  return (closed, atMicroseconds) => {
    const readings = new Map<string, number>();
    for (const [stream, isClosed] of closed) {
      if (isClosed !== (settings.normally[stream as ContactStream] === 'closed')) {
        restingSince.set(stream, null);
      } else {
        const since = restingSince.get(stream);
        if (since === null) restingSince.set(stream, atMicroseconds);
        if (atMicroseconds - (restingSince.get(stream) ?? atMicroseconds) >= debounceMicroseconds) {
          restingSince.delete(stream);
        }
      }
      readings.set(stream, restingSince.has(stream) ? 1 : 0);
    }
    return readings;
  };
}

/** What a person should know of contacts that are open at rest; nothing where every wire is watched. */
export function contactRemarks(settings: ContactSettings, quantities: readonly Quantity[]): string[] {
  const streams = quantities.map(({ stream }) => stream);
  const unwatched = streams.filter((stream) => settings.normally[stream as ContactStream] === 'open');
  return unwatched.length === 0
    ? []
    : [`A cut wire of ${unwatched.join(', ')} goes unnoticed: set as open at rest.`];
}
