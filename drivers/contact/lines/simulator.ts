import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { compileTemplate } from '../../framing/template.ts';
import { createSimulatedContacts } from '../../simulation/contact.ts';
import type { ContactSense, SimulatedContacts } from '../../simulation/contact.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { contactQuantities } from '../../framing/contact.ts';
import { beaconWords, createContactLineCodec } from './codec.ts';
import type { ContactLineSettings } from './manifest.ts';

export interface ContactWorld {
  /** The beacon is switched. */
  setBeacon(on: boolean): void;
  readonly sense?: ContactSense;
  /** Between two lines of an instrument that prints on its own, µs, > 0. A change is printed at once. */
  readonly intervalMicroseconds: number;
}

export interface ContactLineSimulator extends Simulator, Pick<SimulatedContacts, 'set' | 'fail'> {}

/** Contacts that are printed at intervals, and at once when one of them changes. */
export function createContactLineSimulator(
  settings: ContactLineSettings,
  context: SimulatorContext,
  world: ContactWorld,
): ContactLineSimulator {
  const contacts = createSimulatedContacts({
    timers: context.timers,
    normally: settings.normally,
    ...(world.sense === undefined ? {} : { sense: world.sense }),
    onChange: () => {
      if (settings.poll === null) instrument.print();
    },
  });
  const { beacon } = settings;
  const command = beacon === null ? undefined : compileTemplate(beacon.command, ['value']);
  const acknowledge = beacon === null ? undefined : compileTemplate(beacon.acknowledge, ['value', 'any']);
  const instrument = createValueLineInstrument({
    settings,
    context,
    codec: createContactLineCodec(settings),
    read: () => new Map(contactQuantities.map(({ stream }) => [stream, contacts.isClosed(stream) ? 1 : 0])),
    intervalMicroseconds: world.intervalMicroseconds,
    command(line) {
      const text = command?.match(line)?.['value']?.text;
      if (beacon === null || text === undefined) return undefined;
      const value = beaconWords(beacon).read(text);
      if (value === undefined) return compileTemplate(beacon.refusal, ['any']).format({ any: text });
      world.setBeacon(value === 1);
      return acknowledge?.format({ value: text });
    },
  });
  return {
    ...instrument,
    connected: () => {
      if (settings.poll === null) instrument.print();
    },
    set: contacts.set,
    fail: contacts.fail,
    stop() {
      contacts.stop();
      instrument.stop();
    },
  };
}
