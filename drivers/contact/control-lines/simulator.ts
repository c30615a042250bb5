import type { ControlLine, ControlLineState, ControlOutputs } from '../../../src/device/control-lines.ts';
import type { Simulator, SimulatedControlLines, SimulatorContext } from '../../../src/device/simulator.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import { contactQuantities } from '../../framing/contact.ts';
import { createSimulatedContacts } from '../../simulation/contact.ts';
import type { ContactSense, SimulatedContacts } from '../../simulation/contact.ts';
import type { ControlLineContactSettings } from './manifest.ts';

export interface ControlLineSimulator extends Simulator, Pick<SimulatedContacts, 'set' | 'fail'> {
  readonly controlLines: SimulatedControlLines;
}

/**
 * Contacts between the control lines of a port, fed by its own line: without that, none conducts. It sends no bytes.
 * While it is `frozen` its lines stay as they are, while it is `silent` none is on; other wire faults are those of
 * bytes and change nothing.
 */
export function createControlLineSimulator(
  settings: ControlLineContactSettings,
  context: SimulatorContext,
  world: { readonly setBeacon: (on: boolean) => void; readonly sense?: ContactSense },
): ControlLineSimulator {
  const contacts = createSimulatedContacts({
    timers: context.timers,
    normally: settings.normally,
    ...(world.sense === undefined ? {} : { sense: world.sense }),
    onChange: () => undefined,
  });
  let on = false;
  let outputs: ControlOutputs = { dtr: false, rts: false };
  let silent = false;
  let frozen: ControlLineState | null = null;
  const faults = new Map<string, Cancel>();

  const stateNow = (): ControlLineState => {
    const state: Record<ControlLine, boolean> = { cts: false, dsr: false, dcd: false, ri: false };
    const isFed = settings.supply === null || outputs[settings.supply];
    for (const { stream } of contactQuantities) {
      const line = settings.inputs[stream as keyof ControlLineContactSettings['inputs']];
      if (line !== null) state[line] = on && isFed && !silent && contacts.isClosed(stream);
    }
    return state;
  };

  return {
    controlLines: {
      read: () => frozen ?? stateNow(),
      set(wanted) {
        outputs = wanted;
        if (on && settings.beacon !== null) world.setBeacon(wanted[settings.beacon]);
      },
    },
    set: contacts.set,
    fail: contacts.fail,
    start() {
      on = true;
    },
    stop() {
      on = false;
      contacts.stop();
      for (const cancel of faults.values()) cancel();
      faults.clear();
      silent = false;
      frozen = null;
    },
    receive() {
      // Nothing listens to bytes here.
    },
    inject({ fault, seconds }) {
      if (fault !== 'silence' && fault !== 'frozen') return;
      faults.get(fault)?.();
      const set = (active: boolean): void => {
        if (fault === 'silence') silent = active;
        else frozen = active ? stateNow() : null;
      };
      set(true);
      faults.set(
        fault,
        context.timers.after(toMicroseconds(seconds), () => set(false)),
      );
    },
  };
}
