import fc from 'fast-check';
import { expect, it } from 'vitest';
import { parseSettings } from '../../../drivers/registry.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { openBench } from './bench.ts';
import type { Bench, Subject } from './bench.ts';
import type { Specimen } from './specimens.ts';
import { latin1, settlePromises } from './support.ts';
import type { RecordingSink } from './support.ts';

/** Bytes behind the last delimiter: all that a driver may still hold back. */
function pendingOf(text: string, delimiter: string): number {
  const last = text.lastIndexOf(delimiter);
  return last < 0 ? text.length : text.length - last - delimiter.length;
}

/** What the contract demands of a driver that speaks by itself, or in lines. Stands in a `describe` of its own. */
export function conformance([, , manifest, lines]: Subject, specimen: Specimen): void {
  const { delimiter, pieces, conversation, capBytes, unconfirmed } = specimen;
  const openOn = (): Bench => openBench(manifest, specimen, lines);
  const whole = pieces.map((piece) => piece.bytes).join('');
  const allReadings = pieces.flatMap((piece) => piece.readings);
  const valuesOf = (sink: RecordingSink): unknown => sink.readings.map(({ stream, value }) => ({ stream, value }));

  it('speaks: it has something to listen to or something to ask', () => {
    expect(pieces.length > 0 || conversation !== null || unconfirmed !== undefined).toBe(true);
  });

  it('declares the streams it delivers, with units and limits', () => {
    const streams = manifest.streams('specimen', parseSettings(manifest, 'specimen', specimen.settings));
    const declared = streams.map((stream) => stream.stream);
    expect(new Set(declared).size).toBe(declared.length);
    for (const reading of [...allReadings, ...specimen.simulatedReadings]) expect(declared).toContain(reading.stream);
    for (const stream of streams) expect(stream.instrument).toBe('specimen');
  });

  it('refuses settings it does not know, naming instrument and field', () => {
    try {
      parseSettings(manifest, 'specimen', { ...specimen.settings, wrongSetting: 1 });
      expect.unreachable('must be refused');
    } catch (error) {
      expect(isChambersideError(error, 'configuration-invalid')).toBe(true);
      expect(String(error)).toContain('specimen');
      expect(String(error)).toContain('wrongSetting');
    }
  });

  if (pieces.length > 0) {
    it('gives the same readings torn at every byte, with the stamp of the chunk that completed them', () => {
      for (let cut = 0; cut <= whole.length; cut += 1) {
        const { cable, sink, session } = openOn();
        cable.arrive(latin1(whole.slice(0, cut)), 1_000);
        expect(session.accountedBytes).toBe(cut - pendingOf(whole.slice(0, cut), delimiter));
        cable.arrive(latin1(whole.slice(cut)), 2_000);
        expect(valuesOf(sink)).toEqual(allReadings);
        let end = 0;
        const stamps = pieces.flatMap((piece) => {
          end += piece.bytes.length;
          return piece.readings.map(() => (end <= cut ? 1_000 : 2_000));
        });
        expect(sink.readings.map((reading) => reading.at)).toEqual(stamps);
        expect(session.accountedBytes).toBe(whole.length);
        expect(sink.problems).toEqual([]);
        session.end();
      }
    });

    it('gives the same readings byte by byte and merged into one chunk', () => {
      for (const size of [1, 2, 3, whole.length]) {
        const { cable, sink, session } = openOn();
        for (let from = 0; from < whole.length; from += size) {
          cable.arrive(latin1(whole.slice(from, from + size)), from);
        }
        expect(valuesOf(sink)).toEqual(allReadings);
        session.end();
      }
    });

    it('loses only the line with garbage in it, and counts its bytes', () => {
      const first = pieces[0]?.bytes ?? '';
      const rest = pieces.slice(1);
      for (let position = 0; position < first.length; position += 1) {
        const garbage = '\u0000\u00ff~\u0007';
        const spoiled = first.slice(0, position) + garbage + first.slice(position);
        const { cable, sink, session } = openOn();
        cable.arrive(latin1(spoiled + rest.map((piece) => piece.bytes).join('')), 5);
        expect(valuesOf(sink)).toEqual(rest.flatMap((piece) => piece.readings));
        expect(sink.problemBytes).toBe(spoiled.length);
        expect(session.accountedBytes).toBe(cable.arrivedBytes);
        session.end();
      }
    });

    it('shows problems in every second of lines that cannot be decoded, and silence where it has readings', () => {
      const { clock, cable, sink, session } = openOn();
      const streams = manifest.streams('specimen', parseSettings(manifest, 'specimen', specimen.settings));
      const seconds = 10;
      for (let second = 0; second < seconds; second += 1) {
        const before = sink.problems.length;
        for (let line = 0; line < 5; line += 1) {
          clock.advance(200_000);
          cable.arrive(latin1(`?!~${delimiter}`), second * 1_000_000 + (line + 1) * 200_000);
        }
        expect(sink.problems.length, `second ${second}`).toBeGreaterThanOrEqual(before + 5);
      }
      expect(sink.readings).toEqual([]);
      expect(sink.problemBytes).toBe(cable.arrivedBytes);
      const silent = sink.problems.filter((problem) => problem.code === 'silence');
      const watched = streams.some((stream) => (stream.silenceLimitSeconds ?? Infinity) < seconds);
      expect(silent).toHaveLength(watched ? 1 : 0);
      session.end();
    });

    it('reports a cut line when the conversation ends in the middle of it', () => {
      const piece = pieces[0]?.bytes ?? '';
      for (let length = 1; length < piece.length; length += 1) {
        const { cable, sink, session } = openOn();
        cable.arrive(latin1(piece.slice(0, length)), 7);
        cable.breakOff('pulled out');
        expect(sink.problems).toEqual([expect.objectContaining({ code: 'line-incomplete', byteCount: length, at: 7 })]);
        expect(session.accountedBytes).toBe(length);
        expect(sink.readings).toEqual([]);
      }
    });

    it('says once that it hears nothing, when the limit is reached, and again after the next reading', () => {
      const streams = manifest.streams('specimen', parseSettings(manifest, 'specimen', specimen.settings));
      const limits = streams.flatMap((stream) => stream.silenceLimitSeconds ?? []);
      const limit = Math.min(...limits) * 1e6;
      expect(Number.isFinite(limit)).toBe(true);
      const { clock, cable, sink, session } = openOn();
      clock.advance(limit * 5);
      expect(sink.problems).toEqual([expect.objectContaining({ code: 'silence', byteCount: 0, at: limit })]);
      cable.arrive(latin1(whole), clock.now());
      clock.advance(limit * 0.75);
      cable.arrive(latin1(whole), clock.now());
      const lastAt = clock.now();
      clock.advance(limit * 5);
      expect(sink.codes()).toEqual(['silence', 'silence']);
      expect(sink.problems[1]?.at).toBe(lastAt + limit);
      session.end();
      expect(clock.timerCount).toBe(0);
    });
  }

  for (const [what, piece] of [
    ['zero', specimen.zero],
    ['a value below zero', specimen.negative],
  ] as const) {
    if (piece === null) continue;
    it(`takes ${what} for a reading`, () => {
      const { cable, sink, session } = openOn();
      cable.arrive(latin1(piece.bytes), 3);
      expect(valuesOf(sink)).toEqual(piece.readings);
      expect(sink.readings.every((reading) => !Object.is(reading.value, -0))).toBe(true);
      session.end();
    });
  }

  if (specimen.wrongChecksum !== null) {
    it('gives no reading for a wrong checksum', () => {
      const line = specimen.wrongChecksum ?? '';
      const { cable, sink, session } = openOn();
      cable.arrive(latin1(line), 3);
      expect(sink.readings).toEqual([]);
      expect(sink.problems).toEqual([
        expect.objectContaining({ code: 'checksum-wrong', byteCount: line.length, at: 3 }),
      ]);
      session.end();
    });
  }

  it('sets aside what never ends, in any chunking, and understands the next line', () => {
    const last = pieces.at(-1);
    for (const chunk of [1, 7, 64, capBytes * 4]) {
      const { cable, sink, session } = openOn();
      const endless = 'x'.repeat(capBytes * 3 + 10);
      for (let from = 0; from < endless.length; from += chunk) {
        cable.arrive(latin1(endless.slice(from, from + chunk)), from);
      }
      expect(sink.codes()[0]).toBe('line-too-long');
      cable.arrive(latin1(delimiter + (last?.bytes ?? '')), 9_999);
      expect(sink.problems.every((problem) => problem.code === 'line-too-long')).toBe(true);
      expect(sink.problemBytes).toBe(endless.length);
      expect(valuesOf(sink)).toEqual(last?.readings ?? []);
      expect(session.accountedBytes).toBe(cable.arrivedBytes);
      session.end();
    }
  });

  it('takes a line of exactly the longest length for a line', () => {
    const { cable, sink, session } = openOn();
    cable.arrive(latin1('x'.repeat(capBytes) + delimiter), 1);
    expect(sink.codes()).toEqual(['line-undecodable']);
    session.end();
  });

  it('never throws and accounts for every byte, whatever arrives in whatever chunks', () => {
    const known = [
      ...pieces.map((piece) => piece.bytes),
      conversation?.answer ?? '',
      delimiter,
      '\r',
      specimen.wrongChecksum ?? '',
    ];
    const chunk = fc.oneof(
      fc.uint8Array({ minLength: 0, maxLength: 400 }),
      fc.constantFrom(...known).map((line) => latin1(line)),
      fc.constantFrom(...known).chain((line) => fc.nat(line.length).map((length) => latin1(line.slice(0, length)))),
    );
    fc.assert(
      fc.property(fc.array(chunk, { maxLength: 30 }), (chunks) => {
        const { clock, cable, sink, session } = openOn();
        let text = '';
        let at = 0;
        for (const bytes of chunks) {
          at += 1_000;
          text += Buffer.from(bytes).toString('latin1');
          cable.arrive(bytes, at);
          const pending = cable.arrivedBytes - session.accountedBytes;
          expect(pending).toBeGreaterThanOrEqual(0);
          expect(pending).toBeLessThanOrEqual(Math.min(capBytes, pendingOf(text, delimiter)));
        }
        for (const reading of sink.readings) {
          expect(Number.isFinite(reading.value)).toBe(true);
          expect(reading.at).toBeLessThanOrEqual(at);
        }
        session.end();
        expect(session.accountedBytes).toBe(text.length);
        expect(sink.problemBytes + sink.understoodBytes).toBeLessThanOrEqual(text.length);
        if (sink.readings.length === 0) expect(sink.problemBytes + sink.understoodBytes).toBe(text.length);
        expect(clock.timerCount).toBe(0);
      }),
      { numRuns: 800 },
    );
  });

  it('leaves no timer and takes no byte after the end, however often it is ended', () => {
    const { clock, cable, sink, session } = openOn();
    session.end();
    session.end();
    cable.breakOff('gone');
    cable.arrive(latin1(whole + (conversation?.answer ?? '')), 1);
    clock.advance(600e6);
    expect(clock.timerCount).toBe(0);
    expect(session.accountedBytes).toBe(0);
    expect(sink.readings).toEqual([]);
    expect(sink.problems).toEqual([]);
    expect(cable.written).toBe('');
  });

  if (unconfirmed !== undefined) {
    it('does what nothing confirms, and says so to whoever asked', async () => {
      const { clock, cable, sink, session } = openOn();
      const said = await unconfirmed.ask(session).catch((error: unknown) => error);
      expect(isChambersideError(said, 'position-unconfirmed')).toBe(true);
      expect(String(said)).toContain('specimen');
      expect(cable.written).toBe(unconfirmed.request);
      expect(sink.problems).toEqual([]);
      expect(clock.timerCount).toBe(0);
      session.end();
      const after = await unconfirmed.ask(session).catch((error: unknown) => error);
      expect(isChambersideError(after, 'transport-closed')).toBe(true);
      expect(cable.written).toBe(unconfirmed.request);
    });
  }

  if (conversation !== null) {
    const { ask, request, answer, timeoutSeconds } = conversation;

    it('takes its answer torn at every byte, with the stamp of the chunk that completed it', async () => {
      for (let cut = 0; cut <= answer.length; cut += 1) {
        const { clock, cable, sink, session } = openOn();
        const asked = ask(session);
        expect(cable.written).toBe(request);
        cable.arrive(latin1(answer.slice(0, cut)), 10);
        cable.arrive(latin1(answer.slice(cut)), 20);
        expect((await asked).atMicroseconds).toBe(cut === answer.length ? 10 : 20);
        expect(sink.understoodBytes).toBe(answer.length);
        expect(sink.problems).toEqual([]);
        expect(clock.timerCount).toBe(0);
        session.end();
      }
    });

    it('takes an answer that comes while it is still writing', async () => {
      const { cable, session, clock } = openOn();
      cable.onWrite(() => {
        cable.arrive(latin1(answer), 77);
      });
      expect((await ask(session)).atMicroseconds).toBe(77);
      expect(clock.timerCount).toBe(0);
      session.end();
    });

    it('settles every pending wait when the connection closes in the middle of a request', async () => {
      for (const how of ['break', 'end'] as const) {
        for (let length = 0; length < answer.length; length += 1) {
          const { clock, cable, session } = openOn();
          const waits = [ask(session), ask(session), ask(session)].map((wait) =>
            wait.then(
              () => 'answered',
              (error: unknown) => error,
            ),
          );
          cable.arrive(latin1(answer.slice(0, length)), 1);
          if (how === 'break') cable.breakOff('pulled out');
          else session.end();
          for (const outcome of await Promise.all(waits)) {
            expect(isChambersideError(outcome, 'transport-closed')).toBe(true);
            expect(String(outcome)).toContain('specimen');
            expect(String(outcome)).toContain(request.trim());
          }
          await expect(ask(session)).rejects.toMatchObject({ code: 'transport-closed' });
          expect(clock.timerCount).toBe(0);
          expect(cable.written).toBe(request);
        }
      }
    });

    it('times out in silence, and reports the late answer', async () => {
      const { clock, cable, sink, session } = openOn();
      const outcome = ask(session).then(
        () => 'answered',
        (error: unknown) => error,
      );
      clock.advance(timeoutSeconds * 1e6 - 1);
      await settlePromises();
      expect(session.accountedBytes).toBe(0);
      clock.advance(1);
      expect(isChambersideError(await outcome, 'request-timed-out')).toBe(true);
      cable.arrive(latin1(answer), clock.now());
      expect(sink.codes()).toEqual(['answer-unexpected']);
      expect(sink.problemBytes).toBe(answer.length);
      session.end();
      expect(clock.timerCount).toBe(0);
    });
  }
}
