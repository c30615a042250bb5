import type { Cancel, Timers } from '../../src/device/timers.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import type { ContactSettings } from '../framing/contact.ts';
import type { ContactStream } from '../../src/model/contact.ts';

/**
 * - `stuck`: stays as it stands, whoever presses or lets go.
 * - `bounce`: every change comes as a burst of openings and closings.
 * - `wire-cut`: no current flows, whatever the contact does.
 */
export type ContactFault = 'stuck' | 'bounce' | 'wire-cut';

/** Whether a contact is pressed or open by what happens around it. */
export type ContactSense = (stream: string) => boolean;

/** Contacts with their wires, as an instrument sees them. */
export interface SimulatedContacts {
  /** Current flows through this contact at this moment. */
  isClosed(stream: string): boolean;
  /** Somebody presses it (opens the door), or lets go. */
  set(stream: ContactStream, pressed: boolean): void;
  /** From now on, for `seconds`; Infinity: for good. A second fault of a contact takes the place of the first. */
  fail(stream: ContactStream, fault: ContactFault, seconds: number): void;
  /** No timer is left behind. */
  stop(): void;
}

/** Half periods of a bounce, µs: a worn switch needs some milliseconds to come to rest. */
const bounceMicroseconds = [400, 900, 300, 1_600, 700, 2_100] as const;

interface Wire {
  pressed: boolean;
  fault: ContactFault | null;
  /** What a stuck contact does. */
  stuckPressed: boolean;
  bouncing: boolean;
  cancelFault: Cancel | undefined;
  cancelBounce: Cancel | undefined;
}

/** @param options.onChange the current through some contact has begun or ended. */
export function createSimulatedContacts(options: {
  readonly timers: Timers;
  readonly normally: ContactSettings['normally'];
  readonly onChange: () => void;
  /** What stands open without anybody's doing, looked at when it is read: a door of the rig. */
  readonly sense?: ContactSense;
}): SimulatedContacts {
  const { timers, normally, onChange, sense } = options;
  const wires = new Map<string, Wire>();
  const wireOf = (stream: string): Wire => {
    const known = wires.get(stream);
    if (known !== undefined) return known;
    const made: Wire = {
      pressed: false,
      fault: null,
      stuckPressed: false,
      bouncing: false,
      cancelFault: undefined,
      cancelBounce: undefined,
    };
    wires.set(stream, made);
    return made;
  };

  const bounce = (wire: Wire, index: number): void => {
    const pause = bounceMicroseconds[index];
    wire.bouncing = pause !== undefined && index % 2 === 0;
    onChange();
    if (pause === undefined) return;
    wire.cancelBounce = timers.after(pause, () => bounce(wire, index + 1));
  };

  return {
    isClosed(stream) {
      const wire = wireOf(stream);
      if (wire.fault === 'wire-cut') return false;
      const standsSo = sense?.(stream) === true || wire.pressed;
      const pressed = (wire.fault === 'stuck' ? wire.stuckPressed : standsSo) !== wire.bouncing;
      return pressed === (normally[stream as ContactStream] === 'open');
    },
    set(stream, pressed) {
      const wire = wireOf(stream);
      if (wire.pressed === pressed) return;
      wire.pressed = pressed;
      wire.cancelBounce?.();
      wire.bouncing = false;
      if (wire.fault !== 'bounce') {
        onChange();
        return;
      }
      // It begins with the new state: the first half period is an opening already.
      onChange();
      wire.cancelBounce = timers.after(bounceMicroseconds[0], () => bounce(wire, 0));
    },
    fail(stream, fault, seconds) {
      const wire = wireOf(stream);
      wire.cancelFault?.();
      wire.fault = fault;
      wire.stuckPressed = sense?.(stream) === true || wire.pressed;
      onChange();
      if (seconds === Infinity) return;
      wire.cancelFault = timers.after(toMicroseconds(seconds), () => {
        wire.fault = null;
        onChange();
      });
    },
    stop() {
      for (const wire of wires.values()) {
        wire.cancelFault?.();
        wire.cancelBounce?.();
        wire.bouncing = false;
      }
    },
  };
}
