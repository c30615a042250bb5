import { expect, it } from 'vitest';
import type { Simulator, WireFault } from '../../../src/device/simulator.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { openBench } from './bench.ts';
import type { Bench, Subject } from './bench.ts';
import type { Specimen } from './specimens.ts';
import { createRandom } from './support.ts';

const faults: readonly WireFault['fault'][] = ['garbage', 'truncated', 'merged', 'wrong-checksum', 'silence', 'frozen'];

/** What the contract demands of a driver joined with its simulator. Stands in a `describe` of its own. */
export function simulated([name, , manifest, lines]: Subject, specimen: Specimen): void {
  const { conversation, unconfirmed } = specimen;

  /** Joins the dialect's own simulator and driver by a cable without delay. */
  const rehearse = (seed: number): Bench & { readonly simulator: Simulator } => {
    const bench = openBench(manifest, specimen, lines);
    if (specimen.simulate === null) throw new RangeError(`${name} has no simulator`);
    const simulator = specimen.simulate({
      timers: bench.clock,
      random: createRandom(seed),
      send: (bytes) => {
        bench.cable.arrive(bytes, bench.clock.now());
      },
    });
    bench.cable.onWrite((bytes) => {
      simulator.receive(bytes);
    });
    simulator.start();
    return { ...bench, simulator };
  };

  const close = (bench: ReturnType<typeof rehearse>): void => {
    bench.simulator.stop();
    bench.session.end();
    expect(bench.session.accountedBytes).toBe(bench.cable.arrivedBytes);
    expect(bench.clock.timerCount).toBe(0);
  };

  it('understands its own simulator', async () => {
    const bench = rehearse(1);
    const interval = specimen.simulatedIntervalMicroseconds;
    if (interval > 0) {
      bench.clock.advance(interval * 10);
      expect(bench.sink.readings).toEqual(
        Array.from({ length: 10 }, (_, index) =>
          specimen.simulatedReadings.map((reading) => ({ ...reading, at: (index + 1) * interval })),
        ).flat(),
      );
    }
    if (conversation !== null) {
      const asked = conversation.ask(bench.session);
      bench.clock.advance(1e6);
      await expect(asked).resolves.toBeDefined();
    }
    expect(bench.sink.problems).toEqual([]);
    close(bench);
  });

  it.each(faults)('survives the wire fault %s of its own simulator and is well again afterwards', async (fault) => {
    const seconds = 20;
    for (let seed = 1; seed <= 5; seed += 1) {
      const bench = rehearse(seed);
      const { clock, sink, session } = bench;
      clock.advance(seconds * 1e6);
      const expectedReadings = sink.readings.length;
      expect(sink.problems).toEqual([]);
      if (conversation !== null) {
        const before = conversation.ask(session);
        clock.advance(1e6);
        await expect(before).resolves.toBeDefined();
      }

      bench.simulator.inject({ fault, seconds });
      const readingsBefore = sink.readings.length;
      if (unconfirmed !== undefined) {
        for (let attempt = 0; attempt < 5; attempt += 1) {
          await unconfirmed.ask(session).catch(() => undefined);
          clock.advance((seconds * 1e6 - 1) / 5);
        }
      } else if (conversation === null) {
        clock.advance(seconds * 1e6 - 1);
      } else {
        for (let attempt = 0; attempt < 5; attempt += 1) {
          const outcome = conversation.ask(session).then(
            () => undefined,
            (error: unknown) => error,
          );
          clock.advance(seconds * 0.2e6);
          const error = await outcome;
          if (error !== undefined) expect(isChambersideError(error)).toBe(true);
        }
      }
      const during = sink.readings.slice(readingsBefore);
      if (conversation === null && unconfirmed === undefined) {
        if (fault === 'garbage' || fault === 'truncated' || fault === 'merged') {
          expect(sink.problems.length).toBeGreaterThan(0);
          // Two payloads without checksum may merge into one that decodes; then limits must catch it.
          const clean = during.length - sink.codes().filter((code) => code === 'reading-out-of-range').length;
          expect(clean).toBeLessThan(expectedReadings);
        } else if (fault === 'silence') {
          expect(during).toEqual([]);
          expect(sink.codes()).toEqual(['silence']);
        } else if (fault === 'wrong-checksum' && specimen.wrongChecksum !== null) {
          expect(during).toEqual([]);
          expect(sink.codes().filter((code) => code === 'checksum-wrong').length).toBeGreaterThan(0);
        } else {
          const perTick = specimen.simulatedReadings.length;
          expect(during.length).toBe(expectedReadings - perTick);
          expect(sink.problems).toEqual([]);
        }
      } else if (fault === 'silence') {
        expect(during).toEqual([]);
      }

      clock.advance(1);
      // One line may still carry the end of a merged or truncated one.
      const interval = specimen.simulatedIntervalMicroseconds;
      clock.advance(interval);
      const problemsBefore = sink.problems.length;
      const wellFrom = sink.readings.length;
      clock.advance(interval * 5);
      expect(sink.readings.slice(wellFrom).map(({ stream, value }) => ({ stream, value }))).toEqual(
        Array.from({ length: interval > 0 ? 5 : 0 }, () => specimen.simulatedReadings).flat(),
      );
      expect(sink.problems.length).toBe(problemsBefore);
      if (conversation !== null) {
        // A first answer may be glued to what the fault left behind.
        const first = conversation.ask(session).catch(() => undefined);
        clock.advance(conversation.timeoutSeconds * 1e6);
        await first;
        const second = conversation.ask(session);
        clock.advance(1e6);
        await expect(second).resolves.toBeDefined();
      }
      close(bench);
    }
  });
}
