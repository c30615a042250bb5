import type { Reading } from '../model/reading.ts';
import type { Rig } from '../model/rig.ts';
import type { StreamDescriptor } from '../model/stream.ts';
import { clear, isStanding, keyOf, raise } from './alarm-work.ts';
import type { SafetyState, Work } from './alarm-work.ts';

/** A contact of the rig that somebody relies on. */
export interface WatchedContact {
  readonly instrument: string;
  readonly stream: string;
  readonly part: 'stop' | 'door';
}

/** By the stream of an instrument of the kind `contact`. */
const parts: Readonly<Record<string, WatchedContact['part']>> = {
  'stop': 'stop',
  'foot-stop': 'stop',
  'door': 'door',
};

/** The contacts of a rig, in the order of its streams. */
export function contactsOf(rig: Pick<Rig, 'instruments'>, streams: readonly StreamDescriptor[]): WatchedContact[] {
  const isContact = (name: string): boolean =>
    rig.instruments.some(({ instrument, kind }) => instrument === name && kind === 'contact');
  return streams.flatMap(({ instrument, stream }) => {
    const part = parts[stream];
    return part === undefined || !isContact(instrument) ? [] : [{ instrument, stream, part }];
  });
}

/** What the subject presses, in words. */
export function stopName(stream: string): string {
  return stream === 'foot-stop' ? 'foot stop' : 'hand stop';
}

/** The reading says that a subject's stop is pressed; anything but rest counts. */
export function isPressedStop(reading: Reading, contacts: readonly WatchedContact[]): boolean {
  return (
    reading.value !== 0 &&
    Number.isFinite(reading.value) &&
    contacts.some(
      ({ instrument, part, stream }) =>
        part === 'stop' && instrument === reading.instrument && stream === reading.stream,
    )
  );
}

/**
 * Whether the subject can stop the trial by a contact: `none` where the rig has no such contact, `unheard` before the
 * first reading, `armed` when every one is heard and at rest.
 */
export type StopState = 'none' | 'unheard' | 'lost' | 'pressed' | 'armed';

export function stopState(state: SafetyState, contacts: readonly WatchedContact[]): StopState {
  const stops = contacts.filter(({ part }) => part === 'stop');
  if (stops.length === 0) return 'none';
  if (stops.some(({ instrument, stream }) => state.pressedStops.includes(keyOf(instrument, stream)))) return 'pressed';
  if (stops.some(({ instrument }) => isStanding(state, 'stop-contact-lost', instrument))) return 'lost';
  return stops.every(({ instrument, stream }) => state.lastReading[keyOf(instrument, stream)] !== undefined)
    ? 'armed'
    : 'unheard';
}

/** A reading of a stop. One instrument may carry several: its alarm stands while any of them is pressed. */
export function watchStop(work: Work, stop: WatchedContact, value: number): void {
  const { instrument, stream } = stop;
  const key = keyOf(instrument, stream);
  const others = work.state.pressedStops.filter((pressed) => pressed !== key);
  if (value !== 0) {
    work.state = { ...work.state, pressedStops: [...others, key] };
    raise(work, 'subject-stop', instrument, `The subject pressed the ${stopName(stream)}.`);
    return;
  }
  if (others.length === work.state.pressedStops.length) return;
  work.state = { ...work.state, pressedStops: others };
  if (others.some((pressed) => pressed.startsWith(`${instrument}/`))) return;
  clear(work, 'subject-stop', instrument, 'The stop is at rest again.');
}

/** The connection to a stop is gone: known before it has been silent for long. */
export function loseStop(work: Work, instrument: string, why: string): void {
  raise(work, 'stop-contact-lost', instrument, `The stop is not heard: ${why}`);
}
