import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { beaconOutput, contactQuantities, createContactReader } from '../../framing/contact.ts';
import { openValueLines } from '../../framing/value-line-driver.ts';
import type { ValueLineDriver } from '../../framing/value-line-driver.ts';
import { beaconWords, closedIn, createContactLineCodec } from './codec.ts';
import type { ContactLineSettings } from './manifest.ts';

/** Listens to contacts, or asks for them, and switches the beacon where there is one. */
export function openContactLines(context: DriverContext<ContactLineSettings>): DriverSession {
  const { settings } = context;
  const read = createContactReader(settings);
  return openValueLines({
    context,
    codec: createContactLineCodec(settings),
    quantities: contactQuantities,
    readingsOf: (values, atMicroseconds) => read(closedIn(values), atMicroseconds),
    ...outputsOf(settings),
  });
}

function outputsOf({ beacon }: ContactLineSettings): Pick<ValueLineDriver<ContactLineSettings>, 'outputs'> {
  if (beacon === null) return {};
  const { acknowledge, acknowledgeTimeoutSeconds, command, refusal } = beacon;
  const output = { ...beaconOutput, command, acknowledge, decimals: 0, words: beaconWords(beacon) };
  return { outputs: { outputs: [output], refusal, timeoutSeconds: acknowledgeTimeoutSeconds } };
}
