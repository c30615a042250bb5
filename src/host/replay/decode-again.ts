import { findDriver, parseSettings, createLineFramer } from '../../../drivers/registry.ts';
import type { DriverManifest, DriverSession } from '../../device/driver.ts';
import type { Transport } from '../../device/transport.ts';
import type { ProblemCode } from '../../model/reading.ts';
import type { InstrumentConfiguration } from '../../model/rig.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import { createVirtualClock } from '../clock/virtual-clock.ts';
import type { WireRecord } from '../store/contract.ts';

/** What the bytes of one instrument say, decoded once more. Times are trial time, µs. */
export interface DecodedInstrument {
  readonly instrument: string;
  readonly readings: readonly { readonly stream: string; readonly atMicroseconds: number; readonly value: number }[];
  readonly problems: readonly {
    readonly code: ProblemCode;
    readonly detail: string;
    readonly byteCount: number;
    readonly atMicroseconds: number;
  }[];
  /** Ports that the valve confirmed. */
  readonly confirmed: readonly { readonly port: number; readonly atMicroseconds: number }[];
  /** Stamps of the first line of each conversation, which may have begun before the record. */
  readonly edges: ReadonlySet<number>;
  readonly receivedBytes: number;
  readonly sentBytes: number;
}

export interface RecordedConversation {
  readonly configuration: InstrumentConfiguration;
  /** Reads and writes of this instrument only. */
  readonly wire: readonly WireRecord[];
  /** All events of the trial. */
  readonly events: readonly TrialEvent[];
  readonly segments: readonly TimeSegment[];
  /** Moments before which bytes are missing, besides those of the segments: there a new conversation begins. */
  readonly gaps?: readonly number[];
  /** Until when there would have been something to hear; absent: the last of what is recorded. */
  readonly untilMicroseconds?: number;
}

type Happening =
  | { readonly what: 'begin'; readonly atMicroseconds: number }
  | { readonly what: 'lose'; readonly atMicroseconds: number }
  | { readonly what: 'break'; readonly atMicroseconds: number }
  | { readonly what: 'wire'; readonly atMicroseconds: number; readonly record: WireRecord };

/** At one moment: a conversation begins, a question is sent, its answer comes, the connection is lost. */
const order = { break: 0, begin: 1, out: 2, in: 3, lose: 4 } as const;
const rank = (happening: Happening): number =>
  order[happening.what === 'wire' ? happening.record.direction : happening.what];

/**
 * Runs the stored bytes of one instrument through its driver, in virtual time and with nothing at the other end.
 * Connections are lost and come back where the record says so. What was sent to a valve is asked again, so that its
 * answers are judged as they were.
 * @throws ChambersideError `driver-unknown`, `configuration-invalid`.
 */
export async function decodeAgain(recorded: RecordedConversation): Promise<DecodedInstrument> {
  const { configuration, wire } = recorded;
  const { instrument } = configuration;
  const manifest = findDriver(configuration.kind, configuration.dialect);
  const parsed = parseSettings(manifest, instrument, configuration.settings);
  const settings = manifest.listening?.(parsed) ?? parsed;
  const happenings = happeningsOf(recorded);
  const first = happenings[0]?.atMicroseconds ?? 0;
  const clock = createVirtualClock(Math.max(0, first));

  const readings: DecodedInstrument['readings'][number][] = [];
  const problems: DecodedInstrument['problems'][number][] = [];
  const confirmed: DecodedInstrument['confirmed'][number][] = [];
  const edges = new Set<number>();
  const questions = questionsOf(manifest, instrument, settings);
  let conversation: Conversation | null = null;

  const begin = (): Conversation => {
    conversation?.leave();
    let fresh = true;
    const heard = (atMicroseconds: number): void => {
      if (fresh) edges.add(atMicroseconds);
      fresh = false;
    };
    const bytes = replayedTransport(instrument);
    let left = false;
    const session = manifest.open({
      instrument,
      settings,
      transport: bytes.transport,
      timers: clock,
      lines: createLineFramer,
      sink: {
        reading(stream, value, atMicroseconds) {
          heard(atMicroseconds);
          readings.push({ stream, value, atMicroseconds });
        },
        problem(code, detail, byteCount, atMicroseconds) {
          if (left) return;
          heard(atMicroseconds);
          problems.push({ code, detail, byteCount, atMicroseconds });
        },
        understood(_, atMicroseconds) {
          heard(atMicroseconds);
        },
      },
    });
    return {
      session,
      bytes,
      leave() {
        // A host that was lost reported nothing about the line it was reading.
        left = true;
        session.end();
      },
    };
  };

  const send = (current: Conversation, record: WireRecord): void => {
    const text = keyOf(record.bytes);
    // The driver has written it by itself: the second half of a question.
    if (current.bytes.takeWritten(text)) return;
    const port = questions.get(text);
    const { selector } = current.session;
    if (port === undefined || selector === undefined) {
      current.session.overhear?.(record.bytes);
      return;
    }
    const ask = port === 'position' ? selector.position() : selector.select(port).then((at) => ({ ...at, port }));
    ask.then(
      (answer) => confirmed.push(answer),
      () => {
        // Refused or never answered, as it was when it was recorded: the record says what came of it.
      },
    );
    current.bytes.takeWritten(text);
  };

  const perform = (happening: Happening): void => {
    switch (happening.what) {
      case 'begin':
        conversation = begin();
        break;
      case 'break':
        conversation?.leave();
        conversation = null;
        break;
      case 'lose':
        conversation?.bytes.lose();
        conversation = null;
        break;
      case 'wire': {
        // Bytes without a connection that the record knows of: it was there before the record began.
        conversation ??= begin();
        const { record } = happening;
        if (record.direction === 'out') send(conversation, record);
        else conversation.bytes.receive(record.bytes, record.atMicroseconds);
      }
    }
  };
  // After the driver's own timers of the same moment: in virtual time it wrote when they fired, and not before.
  for (const happening of happenings) {
    clock.at(happening.atMicroseconds, () => clock.after(0, () => perform(happening)));
  }
  const last = happenings.at(-1)?.atMicroseconds ?? 0;
  await clock.run({ until: Math.max(last, recorded.untilMicroseconds ?? 0) });
  (conversation as Conversation | null)?.leave();

  const count = (direction: WireRecord['direction']): number =>
    wire.reduce((sum, record) => sum + (record.direction === direction ? record.bytes.length : 0), 0);
  return {
    instrument,
    readings,
    problems,
    confirmed,
    edges,
    receivedBytes: count('in'),
    sentBytes: count('out'),
  };
}

interface Conversation {
  readonly session: DriverSession;
  readonly bytes: ReplayedTransport;
  leave(): void;
}

interface ReplayedTransport {
  readonly transport: Transport;
  receive(bytes: Uint8Array, atMicroseconds: number): void;
  lose(): void;
  /** True when the driver has written exactly this, which is then used up. */
  takeWritten(key: string): boolean;
}

/** A transport with a record at its other end. */
function replayedTransport(instrument: string): ReplayedTransport {
  let onBytes: ((bytes: Uint8Array, atMicroseconds: number) => void) | undefined;
  let onClose: ((reason: string) => void) | undefined;
  const written: string[] = [];
  return {
    transport: {
      label: `record of ${instrument}`,
      write: (bytes) => void written.push(keyOf(bytes)),
      onBytes(listener) {
        onBytes = listener;
      },
      onClose(listener) {
        onClose = listener;
      },
      close: () => Promise.resolve(),
    },
    receive: (bytes, atMicroseconds) => onBytes?.(bytes, atMicroseconds),
    lose: () => onClose?.('the record says that it was lost'),
    takeWritten(key) {
      const index = written.indexOf(key);
      if (index >= 0) written.splice(index, 1);
      return index >= 0;
    },
  };
}

/** Which bytes ask for which port: found by having a driver write each of its questions. */
function questionsOf(
  manifest: DriverManifest,
  instrument: string,
  settings: unknown,
): ReadonlyMap<string, number | 'position'> {
  const questions = new Map<string, number | 'position'>();
  const written = (ask: (session: DriverSession) => Promise<unknown> | undefined): string | null => {
    const keys: string[] = [];
    const session = manifest.open({
      instrument,
      settings,
      transport: {
        label: instrument,
        write: (bytes) => void keys.push(keyOf(bytes)),
        onBytes: () => undefined,
        onClose: () => undefined,
        close: () => Promise.resolve(),
      },
      timers: { after: () => () => undefined },
      lines: createLineFramer,
      sink: { reading: () => undefined, problem: () => undefined, understood: () => undefined },
    });
    ask(session)?.catch(() => undefined);
    session.end();
    return keys[0] ?? null;
  };
  const remember = (key: string | null, question: number | 'position'): void => {
    if (key !== null && !questions.has(key)) questions.set(key, question);
  };
  for (let port = 1; port <= mostPorts; port += 1) {
    remember(written(({ selector }) => selector?.select(port)), port);
  }
  remember(written(({ selector }) => selector?.position()), 'position');
  return questions;
}

const mostPorts = 32;

function keyOf(bytes: Uint8Array): string {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

function happeningsOf({ configuration, events, gaps = [], segments, wire }: RecordedConversation): Happening[] {
  const happenings: Happening[] = wire.map((record) => ({
    what: 'wire',
    atMicroseconds: record.atMicroseconds,
    record,
  }));
  for (const segment of segments) {
    if (segment.reason === 'restart') happenings.push({ what: 'break', atMicroseconds: segment.beginsAtMicroseconds });
  }
  for (const atMicroseconds of gaps) happenings.push({ what: 'break', atMicroseconds });
  for (const event of events) {
    if (event.kind !== 'problem' || event.problem.instrument !== configuration.instrument) continue;
    const { atMicroseconds, code } = event.problem;
    if (code === 'connection-lost') happenings.push({ what: 'lose', atMicroseconds });
    if (code === 'connection-restored') happenings.push({ what: 'begin', atMicroseconds });
  }
  return happenings.sort(
    (one, other) => one.atMicroseconds - other.atMicroseconds || rank(one) - rank(other),
  );
}
