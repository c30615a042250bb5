import { beaconOutput, contactQuantities } from '../../framing/contact.ts';
import type { ClosedContacts } from '../../framing/contact.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings, ValueWords } from '../../framing/value-line.ts';

/** The line of our virtual instrument. */
export const contactLineDefaults: ValueLineDefaults = {
  quantities: contactQuantities,
  line: 'contact stop {stop} door {door} *{checksum}',
  checksum: 'xor-hex',
  expectedIntervalSeconds: 0.2,
  silenceLimitSeconds: 1,
};

interface StateWords {
  readonly closedWords: readonly string[];
  readonly openWords: readonly string[];
}

interface SwitchWords {
  readonly onWord: string;
  readonly offWord: string;
}

/** 1 is closed, 0 open: what the wire says, not yet what it means. */
export const createContactLineCodec = (settings: ValueLineSettings & StateWords): ValueLineCodec => {
  const { closedWords, openWords } = settings;
  return createValueLineCodec(settings, contactQuantities, {
    read: (text) => (closedWords.includes(text) ? 1 : openWords.includes(text) ? 0 : undefined),
    write: (value) => (value === 1 ? closedWords[0] : openWords[0]) ?? '',
  });
};

export const closedIn = (values: ReadonlyMap<string, number>): ClosedContacts =>
  new Map([...values].map(([stream, value]) => [stream, value === 1]));

/** How the beacon's state is written in its command and acknowledgement. */
export const beaconWords = ({ onWord, offWord }: SwitchWords): ValueWords => ({
  read: (text) => (text === onWord ? beaconOutput.high : text === offWord ? beaconOutput.low : undefined),
  write: (value) => (value === beaconOutput.restValue ? offWord : onWord),
});
