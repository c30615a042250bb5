import { describe, expect, it } from 'vitest';
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
const token = 'a token that is long enough';
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
function bench() {
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

describe('a guard', () => {
  it('passes bytes both ways while the host lives', async () => {
    const { run, loaded, ended } = bench();
    const host = await loaded();
    await run(1.2);
    host.beat();
    await run(2.1);
    expect(host.texts.get(0)).toContain('ok power 150\n');
    expect(host.texts.get(0)).toContain('ergo 100 W');
    expect(host.heard.filter(({ say }) => say === 'opened')).toHaveLength(2);
    expect(ended()).toBe(0);
  });

  it('sets the load to zero and turns the valve 1 s after the last beat', async () => {
    const { run, loaded, acts, book } = bench();
    const host = await loaded();
    await run(1.499);
    expect(acts).toEqual([]);
    await run(3);
    expect(acts).toEqual([
      [1.5, '0 W'],
      [1.5, 'port 7'],
    ]);
    const reported = host.heard.flatMap((message) => (message.say === 'report' ? [message.report] : []));
    expect(reported).toHaveLength(1);
    expect(reported[0]).toMatchObject({
      why: 'the program did not answer for 1 s',
      done: true,
      acts: [
        { instrument: 'bike', tries: 1, failure: null },
        { instrument: 'valve', tries: 1, failure: null },
      ],
    });
    expect(host.heard.filter(({ say }) => say === 'closed')).toHaveLength(2);
    expect([...book.keys()]).toEqual(['report-1']);
    host.say({ say: 'noted', reports: ['report-1'] });
    expect(book.size).toBe(0);
  });

  it('writes what it has begun, so that a guard which is killed meanwhile leaves it on a card', async () => {
    const { run, loaded, bike, book } = bench();
    await loaded();
    bike.inject({ fault: 'silence', seconds: 9 });
    await run(1.6);
    expect(book.get('report-1')).toMatchObject({
      done: false,
      acts: [
        { instrument: 'bike', tries: 0, acknowledgedAfterMilliseconds: null },
        { instrument: 'valve', tries: 0 },
      ],
    });
  });

  it('does not let the host at the load until it opens the line again', async () => {
    const { run, loaded, acts } = bench();
    const host = await loaded();
    await run(3);
    acts.length = 0;
    host.write(0, 'power 150\n');
    await run(3.2);
    expect(acts).toEqual([]);
    host.beat();
    host.open(2, 'bike');
    await run(3.3);
    host.write(2, 'power 100\n');
    await run(3.4);
    expect(acts.map(([, what]) => what)).toEqual(['100 W']);
    await run(6);
    // It is watched as before; the valve's line, which the host left with the guard, too.
    expect(acts.map(([, what]) => what)).toEqual(['100 W', '0 W', 'port 7']);
  });

  it('does the same at once when the host has gone, gives the ports back and ends', async () => {
    const { run, loaded, acts, ended, cables, book } = bench();
    const host = await loaded();
    await run(0.7);
    host.gone();
    await run(2);
    expect(acts).toEqual([
      [0.7, '0 W'],
      [0.7, 'port 7'],
    ]);
    expect(ended()).toBe(1);
    expect(book.get('report-1')).toMatchObject({ why: 'the program has ended', done: true });
    cables.get('bike')?.instrument.close();
  });

  it('asks again when nothing acknowledges, three times and then every 2 s', async () => {
    const { run, loaded, acts, bike, book, ended } = bench();
    const host = await loaded();
    // Hears, and says nothing for a while.
    bike.inject({ fault: 'silence', seconds: 0.9 });
    host.gone();
    await run(6);
    expect(acts.filter(([, what]) => what === '0 W').length).toBeGreaterThanOrEqual(2);
    expect(book.get('report-1')?.acts[0]).toMatchObject({ instrument: 'bike', tries: 2, failure: null });
    expect(ended()).toBe(1);

    const other = bench();
    const second = await other.loaded();
    other.bike.inject({ fault: 'silence', seconds: 6 });
    second.gone();
    await other.run(4.5);
    expect(other.ended()).toBe(0);
    expect(other.book.get('report-1')?.acts[0]).toMatchObject({ tries: 3, acknowledgedAfterMilliseconds: null });
    await other.run(20);
    expect(other.book.get('report-1')?.acts[0]).toMatchObject({ failure: null });
    expect(other.ended()).toBe(1);
  });

  it('opens a port again whose cable was out when the host went', async () => {
    const { run, loaded, acts, cables, missing, book } = bench();
    const host = await loaded();
    missing.add('bike');
    cables.get('bike')?.instrument.close();
    await run(0.6);
    host.gone();
    await run(0.75);
    missing.clear();
    await run(2);
    expect(acts.map(([, what]) => what).sort()).toEqual(['0 W', 'port 7']);
    expect(book.get('report-1')?.acts.find(({ instrument }) => instrument === 'bike')?.tries).toBeGreaterThan(1);
  });

  it('does not blame the host for having stood still itself', async () => {
    const { run, loaded, acts, whenLate } = bench();
    const host = await loaded();
    whenLate(() => host.beat());
    await run(2);
    expect(acts).toEqual([]);
  });

  it('gives no line back with a load on it', async () => {
    const { run, loaded, acts, ended } = bench();
    const host = await loaded();
    host.say({ say: 'close', line: 1 });
    host.say({ say: 'close', line: 0 });
    await run(1);
    expect(acts.map(([, what]) => what)).toEqual(['0 W']);
    expect(host.heard.filter(({ say }) => say === 'closed')).toHaveLength(2);
    host.say({ say: 'release' });
    await run(1.1);
    expect(ended()).toBe(1);
    expect(host.hungUp()).toBe(true);
  });

  it('sets a load to zero before it hands it over, after another guard was lost', async () => {
    const { run, join, acts, cables } = bench();
    const host = join('guard', token, true);
    host.open(0, 'bike');
    await run(0.2);
    expect(acts.map(([, what]) => what)).toEqual(['0 W']);
    expect(host.heard.at(-1)).toMatchObject({ say: 'opened', line: 0 });
    host.write(0, 'power 50\n');
    await run(0.3);
    expect(acts.map(([, what]) => what)).toEqual(['0 W', '50 W']);
    expect(host.texts.get(0)).toBe('ok power 50\n');
    expect(cables.size).toBe(1);
  });

  it('tries a load on that was not acknowledged while the host steers the rest again, and begins it at zero', async () => {
    const { run, loaded, bike, book } = bench();
    const host = await loaded();
    bike.inject({ fault: 'silence', seconds: 9 });
    await run(6);
    expect(book.get('report-1')?.acts[0]).toMatchObject({ instrument: 'bike', failure: expect.any(String) as string });
    const beats = async (until: number) => {
      for (let at = 6; at < until; at += 0.5) {
        host.beat();
        await run(at + 0.5);
      }
    };
    host.open(2, 'valve');
    await beats(14);
    // Tried on by itself, and reported when it was acknowledged.
    const again = host.heard.flatMap((said) => (said.say === 'report' ? [said.report] : [])).at(-1);
    expect(again).toMatchObject({ acts: [{ instrument: 'bike', failure: null }] });
    expect(host.heard.filter(({ say }) => say === 'opened').at(-1)).toMatchObject({ line: 2, rested: true });
  });

  it('hands a line over that would not go to zero, says so, and sets it to zero when it is opened again', async () => {
    const { run, join, acts, bike } = bench();
    bike.inject({ fault: 'silence', seconds: 5 });
    const host = join('guard', token, true);
    const beats = async (from: number, until: number) => {
      for (let at = from; at < until; at += 0.5) {
        host.beat();
        await run(at + 0.5);
      }
    };
    host.open(0, 'bike');
    await beats(0, 6);
    expect(host.heard.filter(({ say }) => say === 'opened')).toMatchObject([{ line: 0, rested: false }]);
    acts.length = 0;
    host.open(1, 'bike');
    await beats(6, 7);
    expect(acts.map(([, what]) => what)).toEqual(['0 W']);
    expect(host.heard.at(-1)).toMatchObject({ say: 'opened', line: 1, rested: true });
  });

  it('watches a load from when its port is open, before it is handed over', async () => {
    const { run, join, bike, book, ended } = bench();
    bike.inject({ fault: 'silence', seconds: 3 });
    const host = join('guard', token, true);
    host.open(0, 'bike');
    await run(0.5);
    host.gone();
    await run(10);
    const parked = [...book.values()].find(({ why }) => why === 'the program has ended');
    expect(parked?.acts).toMatchObject([{ instrument: 'bike', failure: null }]);
    expect(ended()).toBe(1);
  });

  it('still sets a load to zero whose line could not be opened again', async () => {
    const { run, loaded, acts, missing, book } = bench();
    const host = await loaded();
    missing.add('bike');
    host.open(2, 'bike');
    await run(0.7);
    expect(host.heard.at(-1)).toMatchObject({ say: 'not-opened', line: 2 });
    host.gone();
    await run(0.75);
    missing.clear();
    await run(4);
    expect(acts.map(([, what]) => what).sort()).toEqual(['0 W', 'port 7']);
    expect(book.get('report-1')?.acts.find(({ instrument }) => instrument === 'bike')).toMatchObject({ failure: null });
  });

  it('refuses whoever does not know its token, and a second host', async () => {
    const { loaded, join, run, ended } = bench();
    const stranger = join('guard', 'another token, as long');
    expect(stranger.heard).toMatchObject([{ say: 'refused' }]);
    expect(stranger.hungUp()).toBe(true);
    await loaded();
    expect(join().heard).toMatchObject([{ say: 'refused', why: 'a host has these ports' }]);
    expect(join('take-back').heard).toMatchObject([{ say: 'refused' }]);
    await run(0.6);
    expect(ended()).toBe(0);
  });

  it('refuses a duty at once that it could never do', () => {
    const { guard } = bench();
    for (const wrong of [
      { kind: 'ergometer', dialect: 'smoke-signals', settings: {} },
      { kind: 'ergometer', dialect: 'lines', settings: { highestPower: 'much' } },
      { kind: 'climate', dialect: 'lines', settings: {} },
    ]) {
      const heard: FromGuard[] = [];
      const read = createGuardFrameReader();
      const peer = guard.connect({
        send(bytes) {
          for (const frame of read(bytes) ?? []) {
            if (frame.frame === 'message') heard.push(fromGuardSchema.parse(frame.message));
          }
        },
        end: () => undefined,
      });
      const duty = { instrument: 'bike', act: { act: 'rest' }, ...wrong } as const;
      const hello = { say: 'hello', token, purpose: 'guard', duties: [duty], restFirst: false };
      peer.receive(encodeGuardFrame({ frame: 'message', message: hello }));
      expect(heard).toMatchObject([{ say: 'refused' }]);
    }
  });

  it('finishes and ends when the next host takes the ports back', async () => {
    const { loaded, join, run, ended, bike, acts } = bench();
    const host = await loaded();
    bike.inject({ fault: 'silence', seconds: 60 });
    host.gone();
    await run(1);
    join('take-back');
    expect(ended()).toBe(0);
    await run(5);
    expect(ended()).toBe(1);
    expect(acts.filter(([, what]) => what === '0 W').length).toBeGreaterThanOrEqual(2);
  });

  it('takes what cannot be understood for the end of the host', async () => {
    const { loaded, run, acts, ended } = bench();
    const host = await loaded();
    host.receive(new Uint8Array([255, 255, 255, 255]));
    await run(2);
    expect(acts.map(([, what]) => what)).toEqual(['0 W', 'port 7']);
    expect(ended()).toBe(1);
  });

  it('says what it cannot open', async () => {
    const { join, missing, run } = bench();
    missing.add('bike');
    const host = join();
    host.open(0, 'bike');
    await run(0.1);
    expect(host.heard.at(-1)).toMatchObject({ say: 'not-opened', line: 0, code: 'port-not-found' });
  });
});
