import { describe, expect, it } from 'vitest';
import {
  contactControlLines,
  controlLineContactSettingsSchema,
} from '../../../drivers/contact/control-lines/manifest.ts';
import { createControlLineSimulator } from '../../../drivers/contact/control-lines/simulator.ts';
import { createLineFramer } from '../../../drivers/framing/line.ts';
import { parseSettings } from '../../../drivers/registry.ts';
import { controlLineText, parseControlLines } from '../../../src/device/control-lines.ts';
import { tapTransport } from '../../../src/host/acquisition/tap.ts';
import { createVirtualClock } from '../../../src/host/clock/virtual-clock.ts';
import { createInProcessPair } from '../../../src/host/transport/in-process.ts';
import { createRecordingSink, createTestCable, latin1 } from './support.ts';

const milliseconds = 1000;

/** Driver and simulated contacts joined by a cable with control lines, everything that the tap sees written down. */
function bench(given: Record<string, unknown> = {}) {
  const settings = controlLineContactSettingsSchema.parse({ inputs: { stop: 'cts', door: 'dsr' }, ...given });
  const clock = createVirtualClock(0);
  const { program, instrument: end } = createInProcessPair('port', clock, { latencyMicroseconds: 500 });
  const beacon: boolean[] = [];
  const contacts = createControlLineSimulator(
    settings,
    { timers: clock, random: () => 0, send: (bytes) => end.send(bytes) },
    { setBeacon: (on) => beacon.push(on) },
  );
  end.attachControlLines(contacts.controlLines);
  contacts.start();
  const sink = createRecordingSink();
  const wire: { readonly direction: string; readonly text: string; readonly at: number }[] = [];
  const transport = tapTransport(program, {
    received: (bytes, at) => wire.push({ direction: 'in', text: Buffer.from(bytes).toString('latin1'), at }),
    sent: (bytes) => wire.push({ direction: 'out', text: Buffer.from(bytes).toString('latin1'), at: clock.now() }),
  });
  const session = contactControlLines.open({
    ...{ instrument: 'contacts', settings, transport, timers: clock, lines: createLineFramer, sink },
    openedAtMicroseconds: 0,
  });
  const valuesOf = (stream: string): number[] =>
    sink.readings.filter((reading) => reading.stream === stream).map(({ value }) => value);
  return { clock, contacts, end, program, sink, session, wire, beacon, valuesOf };
}

describe('contacts on control lines', () => {
  it('feed the contacts first, then look at intervals, with the stamp of the look', async () => {
    const { clock, session, sink, wire, valuesOf } = bench();
    await clock.run({ until: 210 * milliseconds });
    expect(wire[0]).toEqual({ direction: 'out', text: 'DTR+ RTS-\n', at: 0 });
    expect(wire.slice(1).every(({ direction, text }) => direction === 'in' && text === 'CTS+ DSR+ DCD- RI-\n')).toBe(
      true,
    );
    const looks = [50, 100, 150, 200].flatMap((at) => [at * 1000 + 500, at * 1000 + 500]);
    expect(sink.readings.map(({ at }) => at)).toEqual(looks);
    expect(valuesOf('stop')).toEqual([0, 0, 0, 0]);
    expect(sink.problems).toEqual([]);
    session.end();
  });

  it('see a press within one interval, and a cut wire and a lost supply as a press', async () => {
    for (const what of ['press', 'cut', 'no power'] as const) {
      const { clock, contacts, session, sink } = bench();
      await clock.run({ until: 120 * milliseconds });
      if (what === 'press') contacts.set('stop', true);
      if (what === 'cut') contacts.fail('stop', 'wire-cut', Infinity);
      if (what === 'no power') contacts.stop();
      await clock.run({ until: 151 * milliseconds });
      expect(sink.readings.filter(({ stream }) => stream === 'stop').at(-1), what).toMatchObject({
        value: 1,
        at: 150_500,
      });
      session.end();
    }
  });

  it('switch a beacon on the other line, and leave it off when the port is opened', async () => {
    const { beacon, clock, session, wire } = bench({ beacon: 'rts' });
    await clock.run({ until: 10 * milliseconds });
    expect(beacon).toEqual([false]);
    const done = session.actuator?.set('beacon', 1);
    await clock.run({ until: 20 * milliseconds });
    await expect(done).resolves.toBeDefined();
    expect(beacon).toEqual([false, true]);
    expect(wire.filter(({ direction }) => direction === 'out').map(({ text }) => text)).toEqual([
      'DTR+ RTS-\n',
      'DTR+ RTS+\n',
    ]);
    await expect(session.actuator?.set('beacon', 2)).rejects.toMatchObject({ code: 'request-refused' });
    session.end();
    await expect(session.actuator?.set('beacon', 0)).rejects.toMatchObject({ code: 'transport-closed' });
  });

  it('account for every look and every byte that does not belong, and leave nothing behind', async () => {
    const { clock, end, session, sink, wire } = bench();
    await clock.run({ until: 120 * milliseconds });
    end.send(latin1('hello'));
    await clock.run({ until: 200 * milliseconds });
    expect(sink.problems).toMatchObject([{ code: 'answer-unexpected', byteCount: 5 }]);
    const received = wire.filter(({ direction }) => direction === 'in').reduce((sum, { text }) => sum + text.length, 0);
    expect(session.accountedBytes).toBe(received);
    session.end();
    session.end();
    const { length } = sink.readings;
    await clock.run({ until: 60e6 });
    expect(sink.readings).toHaveLength(length);
  });

  it('end with the cable: no look is left waiting', async () => {
    const { clock, program, session, sink } = bench();
    await clock.run({ until: 150_200 });
    const { length } = sink.readings;
    await program.close();
    await clock.run({ until: 5e6 });
    // Whoever opened it says that it is gone.
    expect(sink.problems).toEqual([]);
    expect(sink.readings).toHaveLength(length);
    session.end();
    await expect(program.controlLines?.read()).rejects.toMatchObject({ code: 'transport-closed' });
  });

  it('say of a connection without such lines, and of a line that the port does not tell, what is wrong', async () => {
    const clock = createVirtualClock(0);
    const sink = createRecordingSink();
    const settings = controlLineContactSettingsSchema.parse({});
    const cable = createTestCable();
    const open = { instrument: 'contacts', settings, timers: clock, lines: createLineFramer, sink };
    const session = contactControlLines.open({ ...open, transport: cable, openedAtMicroseconds: 0 });
    await clock.run({ until: 5e6 });
    expect(sink.codes()).toEqual(['status-bad', 'silence']);
    expect(sink.problems[0]?.detail).toMatch(/no control lines: use a serial port/);
    expect(sink.problems[1]?.at).toBe(1e6);
    session.end();

    const other = createRecordingSink();
    const state = { cts: true, dsr: true, dcd: false, ri: null };
    const half = contactControlLines.open({
      ...open,
      sink: other,
      settings: controlLineContactSettingsSchema.parse({ inputs: { stop: 'cts', door: 'ri' } }),
      transport: {
        ...createTestCable(),
        controlLines: {
          read: () => Promise.resolve({ state, atMicroseconds: clock.now() }),
          set: () => Promise.reject(new Error('not there')),
        },
      },
      openedAtMicroseconds: clock.now(),
    });
    await clock.run({ until: 10e6 });
    expect(other.readings).toEqual([]);
    expect(other.problems.map(({ detail }) => detail)).toEqual([
      'Error: not there',
      'the port does not tell RI',
      'no reading for 1 s',
    ]);
    half.end();
  });

  it('are heard again from what was recorded', async () => {
    const live = bench();
    await live.clock.run({ until: 90 * milliseconds });
    live.contacts.set('stop', true);
    await live.clock.run({ until: 400 * milliseconds });
    live.contacts.set('stop', false);
    live.contacts.set('door', true);
    await live.clock.run({ until: 900 * milliseconds });
    live.session.end();
    const parsed = parseSettings(contactControlLines, 'contacts', { inputs: { stop: 'cts', door: 'dsr' } });
    const again = createRecordingSink();
    const cable = createTestCable();
    const session = contactControlLines.open({
      ...{ instrument: 'contacts', settings: contactControlLines.listening?.(parsed) ?? parsed, transport: cable },
      ...{ timers: createVirtualClock(0), lines: createLineFramer, sink: again },
    });
    for (const { direction, text, at } of live.wire) if (direction === 'in') cable.arrive(latin1(text), at);
    expect(again.readings).toEqual(live.sink.readings);
    expect(new Set(live.valuesOf('stop')).size).toBe(2);
    session.end();
  });

  it.each([
    [{ inputs: { stop: null } }, /at least one contact/],
    [{ inputs: { stop: 'cts', door: 'cts' } }, /same line/],
    [{ beacon: 'dtr' }, /feeds the contacts/],
    [{ intervalSeconds: 1 }, /longer than the interval/],
    [{ inputs: { stop: 'rts' } }, /stop/],
  ])('refuse the settings %j', (given, words) => {
    const parsed = controlLineContactSettingsSchema.safeParse(given);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.message).toMatch(words);
  });
});

describe('a look at control lines as text', () => {
  it('is read as it was written', () => {
    for (const cts of [true, false, null]) {
      for (const ri of [true, false, null]) {
        const state = { cts, dsr: true, dcd: false, ri };
        expect(parseControlLines(controlLineText(state))).toEqual(state);
      }
    }
  });

  it.each(['', 'CTS+', 'CTS+ DSR+ DCD+ RI+ RI+', 'cts+ DSR- DCD- RI-', 'CTS* DSR- DCD- RI-', 'DSR+ CTS- DCD- RI-'])(
    'is not "%s"',
    (text) => {
      expect(parseControlLines(text)).toBeUndefined();
    },
  );
});
