import { describe, expect, it } from 'vitest';
import { contactLines, contactLineSettingsSchema } from '../../../../drivers/contact/lines/manifest.ts';
import { createContactLineSimulator } from '../../../../drivers/contact/lines/simulator.ts';
import { contactModbus, modbusContactSettingsSchema } from '../../../../drivers/contact/modbus/manifest.ts';
import { createModbusContactSimulator } from '../../../../drivers/contact/modbus/simulator.ts';
import { createContactReader } from '../../../../drivers/framing/contact.ts';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import type { ContactFault } from '../../../../drivers/simulation/contact.ts';
import type { DriverSession } from '../../../../src/device/driver.ts';
import type { ContactStream } from '../../../../src/model/contact.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  settlePromises,
} from '../../../contract/drivers/support.ts';
import type { ManualClock, RecordingSink } from '../../../contract/drivers/support.ts';

interface ContactBench {
  readonly clock: ManualClock;
  readonly sink: RecordingSink;
  readonly session: DriverSession;
  readonly beacon: boolean[];
  set(stream: ContactStream, pressed: boolean): void;
  fail(stream: ContactStream, fault: ContactFault, seconds: number): void;
  /** Newest value of a stream. */
  newest(stream: ContactStream): number | undefined;
  beaconTo(value: number): Promise<unknown>;
  powerOff(): void;
  end(): void;
}

type Parts = Omit<ContactBench, 'newest' | 'beaconTo' | 'powerOff' | 'end'>;

function finish(parts: Parts, powerOff: () => void): ContactBench {
  return {
    ...parts,
    newest: (stream) => parts.sink.readings.filter((reading) => reading.stream === stream).at(-1)?.value,
    beaconTo: (value) =>
      (parts.session.actuator?.set('beacon', value) ?? Promise.reject(new Error('no actuator'))).then(
        () => 'set',
        (error: unknown) => (error as { code?: string }).code ?? String(error),
      ),
    powerOff,
    end() {
      powerOff();
      parts.session.end();
      expect(parts.clock.timerCount).toBe(0);
    },
  };
}

/** @param simulated settings of the instrument where they differ from those of the rig. */
function linesBench(given: Record<string, unknown> = {}, simulated = given): ContactBench {
  const settings = contactLineSettingsSchema.parse({ beacon: {}, ...given });
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const beacon: boolean[] = [];
  const instrument = createContactLineSimulator(
    contactLineSettingsSchema.parse({ beacon: {}, ...simulated }),
    { timers: clock, random: createRandom(1), send: (bytes) => cable.arrive(bytes, clock.now()) },
    { setBeacon: (on) => beacon.push(on), intervalMicroseconds: 200_000 },
  );
  cable.onWrite((bytes) => instrument.receive(bytes));
  const session = contactLines.open({
    ...{ instrument: 'contacts', settings, transport: cable, timers: clock, lines: createLineFramer, sink },
    openedAtMicroseconds: 0,
  });
  instrument.start();
  const { set, fail } = instrument;
  return finish({ clock, sink, session, beacon, set, fail }, () => instrument.stop());
}

function modbusBench(given: Record<string, unknown> = {}): ContactBench {
  const settings = modbusContactSettingsSchema.parse({ beaconCoil: 3, ...given });
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const beacon: boolean[] = [];
  const instrument = createModbusContactSimulator(
    settings,
    { timers: clock, random: createRandom(1), send: (bytes) => cable.arrive(bytes, clock.now()) },
    { setBeacon: (on) => beacon.push(on) },
  );
  cable.onWrite((bytes) => instrument.receive(bytes));
  instrument.start();
  const session = contactModbus.open({
    ...{ instrument: 'contacts', settings, transport: cable, timers: clock, lines: createLineFramer, sink },
    openedAtMicroseconds: 0,
  });
  const { set, fail } = instrument;
  return finish({ clock, sink, session, beacon, set, fail }, () => instrument.stop());
}

describe('a contact that bounces', () => {
  const reader = (debounceSeconds = 0.05) =>
    createContactReader({ normally: { 'stop': 'closed', 'foot-stop': 'closed', 'door': 'closed' }, debounceSeconds });

  it('counts as pressed at once, and as at rest when it was for the whole time', () => {
    const read = reader();
    const at = (milliseconds: number, closed: boolean): number | undefined =>
      read(new Map([['stop', closed]]), milliseconds * 1000).get('stop');
    expect(at(0, true)).toBe(0);
    expect(at(10, false)).toBe(1);
    // Bouncing on its way back.
    expect([at(20, true), at(40, true), at(55, false), at(60, true), at(100, true)]).toEqual([1, 1, 1, 1, 1]);
    expect([at(109, true), at(110, true), at(120, true)]).toEqual([1, 0, 0]);
  });

  it('is pressed at the first look, however short', () => {
    const read = reader(1);
    expect(read(new Map([['stop', false]]), 0).get('stop')).toBe(1);
    expect(read(new Map([['stop', true]]), 1).get('stop')).toBe(1);
  });

  it('keeps contacts apart', () => {
    const read = reader();
    const readings = read(new Map([['stop', true], ['foot-stop', false]]), 0);
    expect([...readings]).toEqual([['stop', 0], ['foot-stop', 1]]);
  });
});

describe.each([
  ['lines', linesBench, { beacon: null }],
  ['modbus', modbusBench, { beaconCoil: null }],
] as const)('contacts in %s', (_dialect, makeBench, without) => {
  it('are pressed and let go', () => {
    const bench = makeBench();
    bench.clock.advance(1e6);
    expect([bench.newest('stop'), bench.newest('door')]).toEqual([0, 0]);
    bench.set('stop', true);
    bench.clock.advance(150_000);
    expect([bench.newest('stop'), bench.newest('door')]).toEqual([1, 0]);
    bench.set('stop', false);
    bench.set('door', true);
    bench.clock.advance(500_000);
    expect([bench.newest('stop'), bench.newest('door')]).toEqual([0, 1]);
    expect(bench.sink.problems).toEqual([]);
    bench.end();
  });

  it('read a cut wire as pressed, because they are closed at rest', () => {
    const bench = makeBench();
    bench.clock.advance(1e6);
    bench.fail('stop', 'wire-cut', Infinity);
    bench.clock.advance(150_000);
    expect(bench.newest('stop')).toBe(1);
    bench.end();
  });

  it('do not see a cut wire where a contact is open at rest, and say so beforehand', () => {
    const normally = { stop: 'open' };
    const bench = makeBench({ normally });
    bench.clock.advance(1e6);
    bench.fail('stop', 'wire-cut', 5);
    bench.clock.advance(1e6);
    expect(bench.newest('stop')).toBe(0);
    bench.set('stop', true);
    bench.clock.advance(1e6);
    expect(bench.newest('stop')).toBe(0);
    bench.clock.advance(4e6);
    expect(bench.newest('stop')).toBe(1);
    bench.end();
    const remarks = [
      ...(contactLines.remarks?.(contactLineSettingsSchema.parse({ normally })) ?? []),
      ...(contactModbus.remarks?.(modbusContactSettingsSchema.parse({ normally })) ?? []),
    ];
    expect(remarks.map((remark) => /cut wire of stop /.test(remark))).toEqual([true, true]);
    expect(contactLines.remarks?.(contactLineSettingsSchema.parse({}))).toEqual([]);
  });

  it('cannot be read through a contact that sticks', () => {
    const bench = makeBench();
    bench.fail('stop', 'stuck', 2);
    bench.set('stop', true);
    bench.clock.advance(1_900_000);
    expect(bench.newest('stop')).toBe(0);
    bench.clock.advance(400_000);
    expect(bench.newest('stop')).toBe(1);
    bench.end();
  });

  it('are pressed once by a press that bounces, both ways', () => {
    const bench = makeBench();
    bench.fail('stop', 'bounce', Infinity);
    bench.clock.advance(1e6);
    bench.set('stop', true);
    bench.clock.advance(1e6);
    bench.set('stop', false);
    bench.clock.advance(1e6);
    const values = bench.sink.readings.filter(({ stream }) => stream === 'stop').map(({ value }) => value);
    const changes = values.filter((value, index) => index > 0 && value !== values[index - 1]);
    expect(changes).toEqual([1, 0]);
    bench.end();
  });

  it('fall silent when the instrument loses its power, which is said when the limit is reached', () => {
    const bench = makeBench();
    bench.clock.advance(1e6);
    bench.powerOff();
    bench.clock.advance(3e6);
    expect(bench.sink.problems).toMatchObject([{ code: 'silence', byteCount: 0, at: 2e6 }]);
    bench.end();
  });

  it('switch a beacon, and believe what is said back', async () => {
    const bench = makeBench();
    expect(bench.session.actuator?.outputs).toMatchObject([{ output: 'beacon', low: 0, high: 1, restValue: 0 }]);
    for (const value of [1, 0]) {
      const done = bench.beaconTo(value);
      for (let step = 0; step < 20; step += 1) {
        bench.clock.advance(10_000);
        await settlePromises();
      }
      expect(await done).toBe('set');
    }
    expect(bench.beacon).toEqual([true, false]);
    expect(await bench.beaconTo(2)).toBe('request-refused');
    expect(bench.sink.problems).toEqual([]);
    bench.end();
  });

  it('have no beacon where the rig says so', () => {
    const bench = makeBench(without);
    expect(bench.session.actuator).toBeUndefined();
    bench.end();
  });
});

describe('a beacon in lines', () => {
  it('says when the instrument does not know the word', async () => {
    const bench = linesBench({ beacon: { onWord: 'bright' } }, { beacon: {} });
    expect(await bench.beaconTo(1)).toBe('request-refused');
    expect(bench.beacon).toEqual([]);
    bench.end();
  });
});

describe('settings of contacts', () => {
  it.each([
    [{ closedWords: ['on'], openWords: ['off', 'on'] }, /stands for closed as well: on/],
    [{ beacon: { onWord: 'x', offWord: 'x' } }, /word for on/],
    [{ beacon: { command: 'beacon' } }, /must hold \{value\}/],
    [{ beacon: { command: 'beacon {value} {any}' } }, /cannot hold \{any\}/],
    [{ line: 'nothing' }, /must hold one of/],
    [{ debounceSeconds: 2 }, /debounceSeconds|<=1/],
    [{ normally: { stop: 'ajar' } }, /closed/],
    [{ silenceLimitSeconds: 0.1 }, /longer than the expected interval/],
  ])('refuse %j in lines', (given, words) => {
    const parsed = contactLineSettingsSchema.safeParse(given);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.message).toMatch(words);
  });

  it.each([
    [{ inputs: { stop: null, door: null } }, /at least one contact/],
    [{ inputs: { door: { table: 'discrete-inputs', bit: 0 } } }, /same bit/],
    [{ inputs: { stop: { table: 'coils', bit: 7 } }, beaconCoil: 7 }, /contact that is read/],
    [{ intervalSeconds: 1 }, /longer than the interval/],
    [{ inputs: { stop: { table: 'coils', bit: 65_536 } } }, /65535/],
  ])('refuse %j on Modbus', (given, words) => {
    const parsed = modbusContactSettingsSchema.safeParse(given);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.message).toMatch(words);
  });
});
