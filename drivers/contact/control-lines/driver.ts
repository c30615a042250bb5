import type { Actuator, DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { createLineReceiver } from '../../../src/device/line-receiver.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { ChambersideError, isChambersideError } from '../../../src/model/error-code.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import { beaconOutput, createContactReader } from '../../framing/contact.ts';
import { createDelivery } from '../../framing/deliver.ts';
import { requireOutput } from '../../framing/outputs.ts';
import { createControlLineCodec, longestLookBytes, lookTerminator } from './codec.ts';
import type { LookAtLines } from './codec.ts';
import type { ControlLineContactSettings } from './manifest.ts';

/**
 * Looks at the control lines of a port at intervals. No bytes belong to this conversation: those that come are a
 * problem. One who only listens (`intervalSeconds` null) reads the looks that a record holds, as lines of text.
 */
export function openControlLines(context: DriverContext<ControlLineContactSettings>): DriverSession {
  const { instrument, settings, sink, timers, transport } = context;
  const { controlLines } = transport;
  const codec = createControlLineCodec(settings);
  const values = createContactReader(settings);
  const delivery = createDelivery(context, codec.quantities, {
    expectedIntervalSeconds: settings.intervalSeconds,
    silenceLimitSeconds: settings.silenceLimitSeconds,
    plausible: {},
  });
  let accountedLooks = 0;
  let accountedStray = 0;
  let ended = false;
  let looking = false;
  let cancelLook: Cancel | undefined;
  /** What was last said of lines that cannot be read: once, not at every look. */
  let said: string | null = null;
  let lastAtMicroseconds = context.openedAtMicroseconds ?? 0;

  const complain = (detail: string, byteCount: number, atMicroseconds: number): void => {
    if (said === detail) {
      if (byteCount > 0) sink.understood(byteCount, atMicroseconds);
      return;
    }
    said = detail;
    sink.problem('status-bad', detail, byteCount, atMicroseconds);
  };

  const take = (look: LookAtLines, byteCount: number, atMicroseconds: number): void => {
    lastAtMicroseconds = atMicroseconds;
    if (look.look === 'problem') {
      complain(look.detail, byteCount, atMicroseconds);
      return;
    }
    said = null;
    delivery.deliver(values(look.closed, atMicroseconds), atMicroseconds);
  };

  const listener = createLineReceiver({
    context,
    delimiter: lookTerminator,
    capBytes: longestLookBytes,
    onLine(line, byteCount, atMicroseconds) {
      const look = codec.decode(line);
      if (look.look === 'contacts') take(look, byteCount, atMicroseconds);
      else sink.problem('line-undecodable', look.detail, byteCount, atMicroseconds);
    },
  });

  const lookOnce = async (lines: NonNullable<typeof controlLines>): Promise<void> => {
    if (looking) return;
    looking = true;
    try {
      const { state, atMicroseconds } = await lines.read();
      if (ended) return;
      const byteCount = codec.storedBytes(state);
      accountedLooks += byteCount;
      take(codec.read(state), byteCount, atMicroseconds);
    } catch (error) {
      if (!ended) complain(isChambersideError(error) ? error.what : String(error), 0, lastAtMicroseconds);
    } finally {
      looking = false;
    }
  };

  const lookEachInterval = (lines: NonNullable<typeof controlLines>, seconds: number): void => {
    cancelLook = timers.after(toMicroseconds(seconds), () => {
      lookEachInterval(lines, seconds);
      void lookOnce(lines);
    });
  };

  const setOutputs = async (beaconOn: boolean): Promise<void> => {
    if (controlLines !== undefined && !ended) {
      await controlLines.set(codec.outputs(beaconOn));
      return;
    }
    throw new ChambersideError(
      ended ? 'transport-closed' : 'port-failed',
      ended ? `${instrument}: the connection is closed` : `${instrument}: the connection has no control lines`,
      `${instrument}, ${transport.label}`,
      'Connect the instrument to a serial port.',
    );
  };

  const actuator: Actuator = {
    outputs: [beaconOutput],
    async set(name, value) {
      requireOutput([beaconOutput], name, value, { instrument, label: transport.label });
      await setOutputs(value !== beaconOutput.restValue);
      // The port itself is told; nobody else answers.
      return { atMicroseconds: lastAtMicroseconds };
    },
  };

  const finish = (): void => {
    if (ended) return;
    ended = true;
    cancelLook?.();
    delivery.end();
    listener.end();
  };
  transport.onBytes((bytes, atMicroseconds) => {
    if (ended) return;
    delivery.begin(atMicroseconds);
    if (settings.intervalSeconds === null) {
      listener.receive(bytes, atMicroseconds);
      return;
    }
    accountedStray += bytes.length;
    sink.problem('answer-unexpected', `${bytes.length} bytes where none belong`, bytes.length, atMicroseconds);
  });
  transport.onClose(finish);
  if (settings.intervalSeconds !== null) {
    if (controlLines === undefined) {
      complain('the connection has no control lines: use a serial port', 0, lastAtMicroseconds);
    } else {
      // An opened port asserts what it likes: the beacon is off, and the contacts are fed, before the first look.
      setOutputs(false).catch((error: unknown) => {
        if (!ended) complain(isChambersideError(error) ? error.what : String(error), 0, lastAtMicroseconds);
      });
      lookEachInterval(controlLines, settings.intervalSeconds);
    }
  }
  return {
    ...(settings.beacon === null ? {} : { actuator }),
    get accountedBytes() {
      return accountedLooks + accountedStray + listener.accountedBytes;
    },
    end: finish,
  };
}
