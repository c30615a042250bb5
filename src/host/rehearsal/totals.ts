import { createLineFramer, findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { DriverSession } from '../../device/driver.ts';
import type { Rig } from '../../model/rig.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import type { SessionCounts } from '../session/trial-session.ts';
import type { WireRecord } from '../store/contract.ts';

export interface InstrumentBytes {
  /** Bytes that came over the wire, as stored. */
  readonly received: number;
  /** Received bytes that stand in readings, were understood, or are part of a problem. */
  readonly accounted: number;
  readonly sent: number;
}

/** What a whole trial holds, before and after every interruption: counted in the record, not while it ran. */
export function countRecord(record: TrialRecord): SessionCounts {
  const count = (...kinds: string[]): number => record.events.filter((event) => kinds.includes(event.kind)).length;
  return {
    readings: record.streams.reduce((sum, stream) => sum + stream.values.length, 0),
    problems: count('problem', 'port-unconfirmed'),
    events: record.events.length,
    dwells: count('dwell-began'),
    alarms: count('alarm-raised'),
  };
}

/** What the drivers of the last stretch of a trial have accounted for, and where that stretch begins, µs. */
export interface LiveAccount {
  readonly fromMicroseconds: number;
  readonly accounted: Readonly<Record<string, number>>;
}

/**
 * The byte account of each instrument of the rig over a whole trial. Of what a lost host had accounted for, nothing
 * is kept but the bytes themselves: those from before the last stretch are read once more by the same driver.
 * @param wire all that went over the wires, in order of time for each instrument.
 */
export function countBytes(
  record: TrialRecord,
  wire: readonly WireRecord[],
  live: LiveAccount,
): Record<string, InstrumentBytes> {
  return Object.fromEntries(
    record.rig.instruments.map(({ instrument }) => {
      const own = wire.filter((entry) => entry.instrument === instrument);
      const incoming = own.filter((entry) => entry.direction === 'in');
      const total = (entries: readonly WireRecord[]): number =>
        entries.reduce((sum, entry) => sum + entry.bytes.length, 0);
      return [
        instrument,
        {
          received: total(incoming),
          accounted:
            readAgain(
              record,
              instrument,
              incoming.filter((entry) => entry.atMicroseconds < live.fromMicroseconds),
            ) + (live.accounted[instrument] ?? 0),
          sent: total(own.filter((entry) => entry.direction === 'out')),
        },
      ];
    }),
  );
}

/** Bytes that the driver of an instrument accounts for, in conversations that end where the connection broke. */
function readAgain(record: TrialRecord, instrument: string, incoming: readonly WireRecord[]): number {
  const breaks = breaksOf(record, instrument);
  let accounted = 0;
  let conversation = openAgain(record.rig, instrument);
  for (const { atMicroseconds, bytes } of incoming) {
    while ((breaks[0] ?? Infinity) <= atMicroseconds) {
      breaks.shift();
      accounted += conversation.end();
      conversation = openAgain(record.rig, instrument);
    }
    conversation.receive(bytes, atMicroseconds);
  }
  return accounted + conversation.end();
}

/** Trial times after which bytes belong to another conversation, ascending. */
function breaksOf(record: TrialRecord, instrument: string): number[] {
  const lost = record.events.flatMap((event) =>
    event.kind === 'problem' && event.problem.instrument === instrument && event.problem.code === 'connection-lost'
      ? [event.atMicroseconds]
      : [],
  );
  const begun = record.segments.slice(1).map((segment) => segment.beginsAtMicroseconds);
  return [...lost, ...begun].sort((one, other) => one - other);
}

interface Conversation {
  receive(bytes: Uint8Array, atMicroseconds: number): void;
  /** @returns the bytes accounted for. */
  end(): number;
}

/** A driver on a wire that nobody is at the other end of: what it wants to send goes nowhere, and no time passes. */
function openAgain(rig: Rig, instrument: string): Conversation {
  const configuration = rig.instruments.find((entry) => entry.instrument === instrument);
  if (configuration === undefined) throw new RangeError(`the rig has no instrument ${instrument}`);
  const manifest = findDriver(configuration.kind, configuration.dialect);
  let onBytes: (bytes: Uint8Array, atMicroseconds: number) => void = () => undefined;
  const session: DriverSession = manifest.open({
    instrument,
    settings: parseSettings(manifest, instrument, configuration.settings),
    transport: {
      label: 'stored bytes',
      write: () => undefined,
      onBytes(listener) {
        onBytes = listener;
      },
      onClose: () => undefined,
      close: () => Promise.resolve(),
    },
    timers: { after: () => () => undefined },
    lines: createLineFramer,
    sink: { reading: () => undefined, problem: () => undefined, understood: () => undefined },
  });
  return {
    receive: (bytes, atMicroseconds) => onBytes(bytes, atMicroseconds),
    end() {
      session.end();
      return session.accountedBytes;
    },
  };
}
