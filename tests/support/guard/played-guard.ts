import { ergometerSettingsSchema } from '../../../drivers/ergometer/lines/manifest.ts';
import { createErgometerSimulator } from '../../../drivers/ergometer/lines/simulator.ts';
import { selectorValveSettingsSchema } from '../../../drivers/selector-valve/command-lines/manifest.ts';
import { createSelectorValveSimulator } from '../../../drivers/selector-valve/command-lines/simulator.ts';
import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import type { Connection, Transport } from '../../../src/device/transport.ts';
import { createGuard } from '../../../src/guard/guard.ts';
import { createVirtualClock } from '../../../src/host/clock/virtual-clock.ts';
import { createInProcessPair } from '../../../src/host/transport/in-process.ts';
import { ChambersideError } from '../../../src/model/error-code.ts';
import { bytesToText, textToBytes } from '../../../src/model/bytes.ts';
import { createGuardFrameReader, encodeGuardFrame } from '../../../src/safety/guard/frame.ts';
import { fromGuardSchema } from '../../../src/safety/guard/messages.ts';
import type { FromGuard, GuardDuty, GuardReport, ToGuard } from '../../../src/safety/guard/messages.ts';

const second = 1_000_000;
export const token = 'a token that is long enough';
const duties: readonly GuardDuty[] = [
  { instrument: 'bike', kind: 'ergometer', dialect: 'lines', settings: {}, act: { act: 'rest' } },
  {
    instrument: 'valve',
    kind: 'selector-valve',
    dialect: 'command-lines',
    settings: {},
    act: { act: 'select', port: 7 },
  },
];

/** A guard with an ergometer and a valve on cables in memory, and a host that the test plays. */
export function guardBench() {
  const clock = createVirtualClock(0);
  const acts: (readonly [seconds: number, what: string])[] = [];
  const act = (what: string): void => void acts.push([clock.now() / second, what]);
  const simulators = new Map<string, Simulator>();
  const cables = new Map<string, ReturnType<typeof createInProcessPair>>();
  const missing = new Set<string>();
  const context = (name: string): SimulatorContext => ({
    timers: clock,
    random: () => 0.5,
    send: (bytes) => cables.get(name)?.instrument.send(bytes),
  });
  const bike = createErgometerSimulator(ergometerSettingsSchema.parse({}), context('bike'), {
    readErgometer: () => new Map(Object.entries({ power: 100, cadence: 60 })),
    setPower: (watts) => act(`${watts} W`),
    intervalMicroseconds: second,
  });
  const valve = createSelectorValveSimulator(selectorValveSettingsSchema.parse({}), context('valve'), {
    moveTo: (port) => act(`port ${port}`),
    switchingMicroseconds: 150_000,
    acknowledgeDelayMicroseconds: 50_000,
    startPort: 3,
  });
  simulators.set('bike', bike).set('valve', valve);
  for (const simulator of simulators.values()) simulator.start();

  const connect = (connection: Connection): Promise<Transport> => {
    const name = connection.transport === 'serial' ? connection.path : '';
    if (missing.has(name)) {
      return Promise.reject(new ChambersideError('port-not-found', 'there is no port', name, 'Plug it in.'));
    }
    const pair = createInProcessPair(name, clock);
    pair.instrument.onBytes((bytes) => simulators.get(name)?.receive(bytes));
    cables.set(name, pair);
    return Promise.resolve(pair.program);
  };

  const book = new Map<string, GuardReport>();
  let ended = 0;
  let reports = 0;
  /** What has arrived and was not read, when the guard stands still itself. */
  let late: (() => void) | undefined;
  const guard = createGuard({
    clock,
    wallNow: () => new Date(1_750_000_000_000),
    processId: 77,
    token,
    newReport: () => `report-${(reports += 1)}`,
    openTransport: connect,
    book: {
      write: (report) => void book.set(report.report, report),
      forget: (names) => names.forEach((name) => book.delete(name)),
      settled: () => Promise.resolve(),
    },
    whenRead(callback) {
      late?.();
      callback();
    },
    onEnd: () => (ended += 1),
  });

  const join = (purpose: 'guard' | 'take-back' = 'guard', known = token, restFirst = false) => {
    const heard: FromGuard[] = [];
    const texts = new Map<number, string>();
    const read = createGuardFrameReader();
    let hungUp = false;
    const peer = guard.connect({
      send(bytes) {
        for (const frame of read(bytes) ?? []) {
          if (frame.frame === 'message') heard.push(fromGuardSchema.parse(frame.message));
          if (frame.frame === 'bytes') texts.set(frame.line, (texts.get(frame.line) ?? '') + bytesToText(frame.bytes));
        }
      },
      end: () => void (hungUp = true),
    });
    const say = (message: ToGuard): void => peer.receive(encodeGuardFrame({ frame: 'message', message }));
    say({ say: 'hello', token: known, purpose, duties: [...duties], restFirst });
    const write = (line: number, text: string): void =>
      peer.receive(encodeGuardFrame({ frame: 'bytes', line, atMicroseconds: 0, bytes: textToBytes(text) }));
    return {
      heard,
      texts,
      say,
      write,
      beat: () => peer.receive(encodeGuardFrame({ frame: 'beat', atMicroseconds: 0 })),
      gone: () => peer.gone(),
      receive: (bytes: Uint8Array) => peer.receive(bytes),
      hungUp: () => hungUp,
      open(line: number, instrument: string) {
        const connection = { transport: 'serial', path: instrument, baudRate: 9600 } as const;
        say({ say: 'open', line, connection, instruments: [instrument] });
      },
    };
  };
  const run = (seconds: number): Promise<unknown> => clock.run({ until: seconds * second });
  /** A host with both lines open, under 150 W, on port 3. */
  const loaded = async () => {
    const host = join();
    host.open(0, 'bike');
    host.open(1, 'valve');
    await run(0.1);
    host.write(0, 'power 150\n');
    await run(0.5);
    host.beat();
    acts.length = 0;
    return host;
  };
  return {
    clock,
    acts,
    book,
    cables,
    missing,
    bike,
    valve,
    guard,
    join,
    run,
    loaded,
    ended: () => ended,
    whenLate: (arrive: () => void) => (late = arrive),
  };
}
