import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseSettings } from '../../../drivers/registry.ts';
import type { DriverManifest } from '../../../src/device/driver.ts';
import type { LineFramerFactory } from '../../../src/device/framing.ts';
import type { Simulator, WireFault } from '../../../src/device/simulator.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { askedSpecimens } from './asked-specimens.ts';
import type { AskedSpecimen, Exchange } from './asked-specimens.ts';
import { openBench, subjects } from './bench.ts';
import type { Bench } from './bench.ts';
import { createRandom, latin1, settlePromises } from './support.ts';

type Answers = readonly Omit<Exchange, 'readings'>[];

/** Answers what the driver writes, whole and at once, until it is told otherwise. */
interface Peer extends Bench {
  /** In place of the answer to this request, from now on; null: nothing is answered. */
  answerWith(request: string, answer: string | null): void;
}

const faults: readonly WireFault['fault'][] = ['garbage', 'truncated', 'merged', 'wrong-checksum', 'silence', 'frozen'];
const asked = subjects.filter(([name]) => name in askedSpecimens);

describe.each(asked)('%s, %s, which is asked', (name, _framer, manifest: DriverManifest, lines: LineFramerFactory) => {
  const specimen = askedSpecimens[name] as AskedSpecimen;
  const { opening, round, conversation, intervalMicroseconds, timeoutMicroseconds, silenceMicroseconds } = specimen;
  const last = round.at(-1);
  const readings = round.flatMap((exchange) => exchange.readings);
  const streams = manifest.streams('specimen', parseSettings(manifest, 'specimen', specimen.settings));
  const valuesOf = (bench: Bench): unknown => bench.sink.readings.map(({ stream, value }) => ({ stream, value }));

  /** A driver whose questions are answered by hand. */
  const openPeer = (known: Answers): Peer => {
    const answers = new Map<string, string | null>(known.map(({ request, answer }) => [request, answer]));
    const bench = openBench(manifest, { settings: specimen.settings }, lines, (cable, clock) => {
      cable.onWrite((bytes) => {
        const answer = answers.get(Buffer.from(bytes).toString('latin1'));
        if (answer != null) cable.arrive(latin1(answer), clock.now());
      });
    });
    return { ...bench, answerWith: (request, answer) => answers.set(request, answer) };
  };
  const everything: Answers = [...opening, ...round, ...(conversation?.exchanges ?? [])];
  /** Lets time pass with promises in between, as a host does. */
  const pass = async (bench: Bench, microseconds: number): Promise<void> => {
    const steps = 50;
    for (let step = 0; step < steps; step += 1) {
      bench.clock.advance(microseconds / steps);
      await settlePromises();
    }
  };
  const close = (bench: Bench): void => {
    bench.session.end();
    bench.session.end();
    expect(bench.session.accountedBytes).toBe(bench.cable.arrivedBytes);
    expect(bench.clock.timerCount).toBe(0);
    const { length } = bench.cable.written;
    bench.clock.advance(600e6);
    expect(bench.cable.written.length).toBe(length);
  };

  it('declares the streams that it delivers, and refuses settings that it does not know', () => {
    const declared = streams.map(({ stream }) => stream);
    expect(new Set(declared).size).toBe(declared.length);
    for (const { stream } of [...readings, ...specimen.simulatedReadings]) expect(declared).toContain(stream);
    expect(() => parseSettings(manifest, 'specimen', { ...specimen.settings, wrongSetting: 1 })).toThrow(
      /specimen.*wrongSetting/,
    );
    expect(manifest.listening !== undefined || round.length === 0).toBe(true);
  });

  if (last !== undefined) {
    it('asks at its interval and gives the readings of each round', async () => {
      const bench = openPeer(everything);
      await pass(bench, intervalMicroseconds * 3.5);
      expect(valuesOf(bench)).toEqual([readings, readings, readings].flat());
      expect(bench.sink.problems).toEqual([]);
      const questions = round.map(({ request }) => request).join('');
      expect(bench.cable.written).toBe(opening.map(({ request }) => request).join('') + questions.repeat(3));
      close(bench);
    });

    it('gives them torn at every byte, with the stamp of the chunk that completed them', async () => {
      for (let cut = 0; cut <= last.answer.length; cut += 1) {
        const bench = openPeer(everything);
        bench.answerWith(last.request, null);
        const before = async (): Promise<void> => {
          while (!bench.cable.written.endsWith(last.request)) await pass(bench, intervalMicroseconds / 50);
        };
        await before();
        bench.sink.readings.length = 0;
        bench.cable.arrive(latin1(last.answer.slice(0, cut)), 1_000);
        bench.cable.arrive(latin1(last.answer.slice(cut)), 2_000);
        expect(valuesOf(bench)).toEqual(last.readings);
        for (const { at } of bench.sink.readings) expect(at).toBe(cut === last.answer.length ? 1_000 : 2_000);
        expect(bench.session.accountedBytes).toBe(bench.cable.arrivedBytes);
        expect(bench.sink.problems).toEqual([]);
        close(bench);
      }
    });

    for (const [what, other] of [
      ['zero', specimen.zero],
      ['a value below zero', specimen.negative],
    ] as const) {
      if (other === null) continue;
      it(`takes ${what} for a reading`, async () => {
        const bench = openPeer(everything);
        bench.answerWith(last.request, other.answer);
        await pass(bench, intervalMicroseconds * 1.5);
        const before = readings.slice(0, readings.length - last.readings.length);
        expect(valuesOf(bench)).toEqual([...before, ...other.readings]);
        expect(bench.sink.readings.every(({ value }) => !Object.is(value, -0))).toBe(true);
        close(bench);
      });
    }

    const bad: (readonly [string, string, string])[] = specimen.doubtful.map((answer, index) => [
      `doubtful answer ${index + 1}`,
      answer,
      'status-bad',
    ]);
    if (specimen.wrongChecksum !== null) bad.push(['wrong checksum', specimen.wrongChecksum, 'checksum-wrong']);
    it.each(bad)('gives no reading for a %s, says why, and reads the next round', async (_what, answer, code) => {
      const bench = openPeer(everything);
      bench.answerWith(last.request, answer);
      await pass(bench, intervalMicroseconds * 1.5);
      const problem = bench.sink.problems.find((candidate) => candidate.code === code);
      expect(problem, bench.sink.codes().join()).toMatchObject({ byteCount: answer.length });
      const ofLast = bench.sink.readings.filter(({ stream }) => last.readings.some((one) => one.stream === stream));
      expect(ofLast).toEqual([]);
      bench.answerWith(last.request, last.answer);
      const from = bench.sink.readings.length;
      await pass(bench, intervalMicroseconds * 2);
      expect(bench.sink.readings.length - from).toBeGreaterThanOrEqual(readings.length);
      close(bench);
    });

    it('loses only the round with garbage before or inside its answer, and counts the bytes', async () => {
      for (let position = 0; position < last.answer.length; position += 1) {
        const bench = openPeer(everything);
        const spoiled = `${last.answer.slice(0, position)}\u0000\u00ff~\u0007${last.answer.slice(position)}`;
        bench.answerWith(last.request, spoiled);
        await pass(bench, intervalMicroseconds * 1.5);
        bench.answerWith(last.request, last.answer);
        const from = bench.sink.readings.length;
        await pass(bench, intervalMicroseconds * 2);
        expect(bench.sink.readings.length - from, `at ${position}`).toBeGreaterThanOrEqual(readings.length);
        expect(bench.sink.problemBytes).toBeGreaterThanOrEqual(4);
        expect(bench.session.accountedBytes).toBe(bench.cable.arrivedBytes);
        close(bench);
      }
    });

    it('says once that it hears nothing, keeps asking, and is well again when it answers', async () => {
      const limit = Math.min(...streams.flatMap((stream) => stream.silenceLimitSeconds ?? [])) * 1e6;
      const bench = openPeer([]);
      bench.clock.advance(limit * 3);
      await settlePromises();
      expect(bench.sink.problems).toEqual([expect.objectContaining({ code: 'silence', byteCount: 0, at: limit })]);
      for (const { request, answer } of everything) bench.answerWith(request, answer);
      await pass(bench, intervalMicroseconds * 4 + timeoutMicroseconds);
      expect(bench.sink.readings.length).toBeGreaterThanOrEqual(readings.length);
      expect(bench.sink.codes()).toEqual(['silence']);
      close(bench);
    });

    it('takes no answer that comes when nothing waits for it', async () => {
      const bench = openPeer(everything);
      await pass(bench, intervalMicroseconds * 1.5);
      const { length } = bench.sink.readings;
      bench.cable.arrive(latin1(last.answer), bench.clock.now());
      bench.clock.advance(silenceMicroseconds);
      expect(bench.sink.readings.length).toBe(length);
      expect(bench.sink.codes()).toEqual(['answer-unexpected']);
      expect(bench.sink.problemBytes).toBe(last.answer.length);
      close(bench);
    });

    it('hears the same of a record of both directions', () => {
      const parsed = parseSettings(manifest, 'specimen', specimen.settings);
      const settings = (manifest.listening?.(parsed) ?? parsed) as Record<string, unknown>;
      const bench = openBench(manifest, { settings }, lines);
      for (const { request, answer } of [...opening, ...round, ...round]) {
        bench.session.overhear?.(latin1(request));
        bench.cable.arrive(latin1(answer), 5);
      }
      expect(valuesOf(bench)).toEqual([...opening.flatMap((exchange) => exchange.readings), ...readings, ...readings]);
      expect(bench.sink.problems).toEqual([]);
      close(bench);
    });
  }

  if (conversation !== null) {
    const { ask, exchanges } = conversation;
    const final = exchanges.at(-1) as Omit<Exchange, 'readings'>;
    const codeOf = (error: unknown): string => (isChambersideError(error) ? error.code : String(error));

    it('does what it is asked for, and takes its last answer torn at every byte', async () => {
      for (let cut = 0; cut <= final.answer.length; cut += 1) {
        const bench = openPeer(opening.concat(exchanges.map((exchange) => ({ ...exchange, readings: [] }))));
        await pass(bench, silenceMicroseconds + 100_000);
        bench.answerWith(final.request, null);
        const done = ask(bench.session);
        for (let step = 0; step < 200 && !bench.cable.written.endsWith(final.request); step += 1) {
          await pass(bench, 5_000);
        }
        bench.cable.arrive(latin1(final.answer.slice(0, cut)), 1e9);
        bench.cable.arrive(latin1(final.answer.slice(cut)), 2e9);
        expect((await done).atMicroseconds).toBe(cut === final.answer.length ? 1e9 : 2e9);
        expect(bench.sink.problems).toEqual([]);
        close(bench);
      }
    });

    it('settles every wait when the connection closes in the middle of it', async () => {
      for (const how of ['break', 'end'] as const) {
        for (const { request } of exchanges) {
          const bench = openPeer(everything);
          await pass(bench, silenceMicroseconds + 100_000);
          bench.answerWith(request, null);
          const waits = [ask(bench.session), ask(bench.session)].map((wait) => wait.then(() => 'done', codeOf));
          await pass(bench, 50_000);
          if (how === 'break') bench.cable.breakOff('pulled out');
          else bench.session.end();
          expect(await Promise.all(waits)).toEqual(['transport-closed', 'transport-closed']);
          expect(await ask(bench.session).then(() => 'done', codeOf)).toBe('transport-closed');
          close(bench);
        }
      }
    });

    it('says in time that no answer came, and does it when it is asked again', async () => {
      const bench = openPeer(everything);
      await pass(bench, silenceMicroseconds + 100_000);
      for (const { request } of exchanges) bench.answerWith(request, null);
      const late = ask(bench.session).then(() => 'done', codeOf);
      await pass(bench, 20e6);
      expect(await late).toBe('request-timed-out');
      for (const { request, answer } of exchanges) bench.answerWith(request, answer);
      const again = ask(bench.session).then(() => 'done', codeOf);
      await pass(bench, 2e6);
      expect(await again).toBe('done');
      close(bench);
    });
  }

  it('never throws and accounts for every byte, whatever comes in whatever chunks', async () => {
    const known = everything.flatMap(({ request, answer }) => [request, answer]);
    const chunk = fc.oneof(
      fc.uint8Array({ maxLength: 300 }),
      fc.constantFrom(...known).map((text) => latin1(text)),
      fc.constantFrom(...known).chain((text) => fc.nat(text.length).map((length) => latin1(text.slice(0, length)))),
      fc.constantFrom(...known).chain((text) =>
        fc.tuple(fc.nat(text.length - 1), fc.nat(255)).map(([at, byte]) => {
          const spoiled = latin1(text);
          spoiled[at] = byte;
          return spoiled;
        }),
      ),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(chunk, fc.nat(300_000)), { maxLength: 30 }), async (chunks) => {
        const bench = openPeer([]);
        const wait = conversation?.ask(bench.session).catch(() => undefined);
        for (const [bytes, pause] of chunks) {
          bench.cable.arrive(bytes, bench.clock.now());
          const pending = bench.cable.arrivedBytes - bench.session.accountedBytes;
          expect(pending).toBeGreaterThanOrEqual(0);
          expect(pending).toBeLessThanOrEqual(4_096);
          bench.clock.advance(pause);
          await settlePromises();
        }
        for (const { value } of bench.sink.readings) expect(Number.isFinite(value)).toBe(true);
        bench.session.end();
        await wait;
        expect(bench.session.accountedBytes).toBe(bench.cable.arrivedBytes);
        const accounted = bench.sink.problemBytes + bench.sink.understoodBytes;
        expect(accounted).toBeLessThanOrEqual(bench.cable.arrivedBytes);
        if (bench.sink.readings.length === 0) expect(accounted).toBe(bench.cable.arrivedBytes);
        expect(bench.clock.timerCount).toBe(0);
      }),
      { numRuns: 800 },
    );
  });

  describe('and its simulator', () => {
    const rehearse = (seed: number): Bench & { readonly simulator: Simulator } => {
      let simulator: Simulator | undefined;
      const bench = openBench(manifest, { settings: specimen.settings }, lines, (cable, clock) => {
        const made = specimen.simulate({
          timers: clock,
          random: createRandom(seed),
          send: (bytes) => {
            cable.arrive(bytes, clock.now());
          },
        });
        made.start();
        simulator = made;
        cable.onWrite((bytes) => {
          made.receive(bytes);
        });
      });
      if (simulator === undefined) throw new Error('no simulator');
      return { ...bench, simulator };
    };

    it('understand each other', async () => {
      const bench = rehearse(1);
      await pass(bench, Math.max(intervalMicroseconds, 100_000) * 5.5);
      const rounds = round.length === 0 ? 0 : 5;
      expect(valuesOf(bench)).toEqual(Array.from({ length: rounds }, () => specimen.simulatedReadings).flat());
      if (conversation !== null) {
        const done = conversation.ask(bench.session);
        await pass(bench, 2e6);
        await expect(done).resolves.toBeDefined();
      }
      expect(bench.sink.problems).toEqual([]);
      bench.simulator.stop();
      close(bench);
    });

    it.each(faults)('survive the wire fault %s, and are well again afterwards', async (fault) => {
      const seconds = 20;
      for (let seed = 1; seed <= 3; seed += 1) {
        const bench = rehearse(seed);
        const { sink } = bench;
        await pass(bench, 2e6);
        expect(sink.problems).toEqual([]);
        bench.simulator.inject({ fault, seconds });
        const from = sink.readings.length;
        if (conversation === null) {
          await pass(bench, seconds * 1e6 - 1);
        } else {
          for (let attempt = 0; attempt < 4; attempt += 1) {
            const outcome = conversation.ask(bench.session).then(
              () => undefined,
              (error: unknown) => error,
            );
            await pass(bench, (seconds * 1e6 - 1) / 4);
            const error = await outcome;
            if (error !== undefined) expect(isChambersideError(error)).toBe(true);
          }
        }
        const during = sink.readings.slice(from);
        for (const reading of during) {
          const known = specimen.simulatedReadings.find(({ stream }) => stream === reading.stream);
          // What a checksum guards is either right or not there.
          if (specimen.wrongChecksum !== null) expect(reading.value).toBe(known?.value);
        }
        if (round.length > 0) {
          if (fault === 'silence') expect(during).toEqual([]);
          if (fault === 'wrong-checksum' && specimen.wrongChecksum !== null) {
            expect(during).toEqual([]);
            expect(sink.codes()).toContain('checksum-wrong');
          }
          if (fault === 'frozen') expect(during.length).toBeGreaterThan(0);
          if (fault === 'garbage' || fault === 'truncated') expect(sink.problems.length).toBeGreaterThan(0);
        }
        await pass(bench, intervalMicroseconds * 3 + timeoutMicroseconds * 3);
        const problems = sink.problems.length;
        const wellFrom = sink.readings.length;
        await pass(bench, intervalMicroseconds * 5);
        expect(sink.readings.length - wellFrom).toBe(round.length > 0 ? 5 * specimen.simulatedReadings.length : 0);
        expect(sink.problems.length).toBe(problems);
        if (conversation !== null) {
          const done = conversation.ask(bench.session);
          await pass(bench, 2e6);
          await expect(done).resolves.toBeDefined();
        }
        bench.simulator.stop();
        close(bench);
      }
    });
  });
});
