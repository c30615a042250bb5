import { controlLineEnd, controlLineText, parseControlLines } from '../../../src/device/control-lines.ts';
import type { ControlLineState, ControlOutputs } from '../../../src/device/control-lines.ts';
import { contactQuantities } from '../../framing/contact.ts';
import type { ClosedContacts } from '../../framing/contact.ts';
import type { Quantity } from '../../framing/quantity.ts';
import type { ControlLineContactSettings } from './manifest.ts';

/** A look may be stored as a line of text; no longer one is. */
export const longestLookBytes = 64;

export const lookTerminator = controlLineEnd;

export type LookAtLines =
  | { readonly look: 'contacts'; readonly closed: ClosedContacts }
  /** The port does not tell a line that a contact stands on, or the text is no look. */
  | { readonly look: 'problem'; readonly detail: string };

export interface ControlLineCodec {
  /** Those that stand on a line. */
  readonly quantities: readonly Quantity[];
  /** An asserted line is a closed contact. */
  read(state: ControlLineState): LookAtLines;
  /** The same of a look that was stored. */
  decode(line: string): LookAtLines;
  /** Bytes that the look takes where it is stored. */
  storedBytes(state: ControlLineState): number;
  /** What the port is set to. */
  outputs(beaconOn: boolean): ControlOutputs;
}

export function createControlLineCodec(settings: ControlLineContactSettings): ControlLineCodec {
  const placed = contactQuantities.flatMap((quantity) => {
    const line = settings.inputs[quantity.stream as keyof ControlLineContactSettings['inputs']];
    return line === null ? [] : [{ quantity, line }];
  });
  const read = (state: ControlLineState): LookAtLines => {
    const closed = new Map<string, boolean>();
    for (const { quantity, line } of placed) {
      const on = state[line];
      if (on === null) return { look: 'problem', detail: `the port does not tell ${line.toUpperCase()}` };
      closed.set(quantity.stream, on);
    }
    return { look: 'contacts', closed };
  };
  const { beacon, supply } = settings;
  const isOn = (line: 'dtr' | 'rts', beaconOn: boolean): boolean => line === supply || (line === beacon && beaconOn);
  return {
    quantities: placed.map(({ quantity }) => quantity),
    read,
    decode(line) {
      const state = parseControlLines(line);
      return state === undefined ? { look: 'problem', detail: 'no look at control lines' } : read(state);
    },
    storedBytes: (state) => controlLineText(state).length + lookTerminator.length,
    outputs: (beaconOn) => ({ dtr: isOn('dtr', beaconOn), rts: isOn('rts', beaconOn) }),
  };
}
