import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/registry.ts';
import { scenarios } from '../../../../drivers/virtual-rig/index.ts';
import type { Transport } from '../../../../src/device/transport.ts';
import { createAcquisition } from '../../../../src/host/acquisition/acquisition.ts';
import { textToBytes } from '../../../../src/model/bytes.ts';
import type { Problem } from '../../../../src/model/reading.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';

const second = 1_000_000;
const { rig } = scenarios.demo;

interface Cable extends Transport {
  readonly instrument: string;
  closed: boolean;
  /** Breaks from the other end. */
  breakOff(): void;
}

function createBench(openCable: (cable: Cable) => Promise<Transport> = (cable) => Promise.resolve(cable)) {
  const clock = createFakeClock();
  const cables: Cable[] = [];
  const problems: Problem[] = [];
  const acquisition = createAcquisition({
    rig,
    clock,
    lines: createLineFramer,
    sink: { wire: () => undefined, reading: () => undefined, problem: (problem) => problems.push(problem) },
    longestRetrySeconds: 2,
    openTransport(instrument) {
      let told: ((reason: string) => void) | undefined;
      const cable: Cable = {
        label: `cable of ${instrument}`,
        instrument,
        closed: false,
        write: () => undefined,
        onBytes: () => undefined,
        onClose(listener) {
          told = listener;
        },
        breakOff() {
          this.closed = true;
          told?.('it broke');
        },
        async close() {
          if (this.closed) return;
          this.closed = true;
          await Promise.resolve();
          told?.('closed by the program');
        },
      };
      cables.push(cable);
      return openCable(cable);
    },
  });
  const of = (instrument: string): Cable[] => cables.filter((cable) => cable.instrument === instrument);
  return { clock, cables, problems, acquisition, of };
}

/** A cable on which no driver can be opened. */
function refusing(cable: Cable): Cable {
  cable.onBytes = () => {
    throw new Error('no memory for a buffer');
  };
  return cable;
}

describe('a driver that throws while it is opened', () => {
  it('leaves no connection open, says why, and is tried again until it can be opened', async () => {
    let broken = 3;
    const { clock, acquisition, of, problems } = createBench((cable) => {
      if (cable.instrument !== rig.photometer || broken === 0) return Promise.resolve(cable);
      broken -= 1;
      return Promise.resolve(refusing(cable));
    });
    let connected = false;
    acquisition.begin();
    void acquisition.connected().then(() => {
      connected = true;
    });
    await clock.advanceTo(0);
    expect(acquisition.isConnected(rig.photometer)).toBe(false);
    expect(acquisition.isConnected(rig.selectorValve)).toBe(true);
    expect(of(rig.photometer).map((cable) => cable.closed)).toEqual([true]);
    await clock.advanceTo(10 * second);
    expect(of(rig.photometer).map((cable) => cable.closed)).toEqual([true, true, true, false]);
    expect(connected).toBe(true);
    const told = problems.filter((problem) => problem.instrument === rig.photometer);
    const lost = told.filter((problem) => problem.code === 'connection-lost');
    expect(lost).toHaveLength(3);
    expect(lost[0]?.detail).toContain('no memory for a buffer');
    // It was never connected before, so nothing is restored.
    expect(told.some((problem) => problem.code === 'connection-restored')).toBe(false);
    await acquisition.end();
    expect(clock.pending).toBe(0);
  });

  it('waits longer after each failure', async () => {
    const times: number[] = [];
    const bench = createBench((cable) => {
      if (cable.instrument === rig.photometer) times.push(bench.clock.now() / second);
      return Promise.resolve(cable.instrument === rig.photometer ? refusing(cable) : cable);
    });
    bench.acquisition.begin();
    await bench.clock.advanceTo(9 * second);
    expect(times).toEqual([0, 0.5, 1.5, 3.5, 5.5, 7.5]);
    await bench.acquisition.end();
  });
});

describe('a connection that breaks while its driver is opened', () => {
  it('is tried again, and is never taken for connected', async () => {
    let broken = 1;
    const { clock, acquisition, of } = createBench((cable) => {
      if (cable.instrument === rig.photometer && broken > 0) {
        broken -= 1;
        cable.onBytes = () => cable.breakOff();
      }
      return Promise.resolve(cable);
    });
    acquisition.begin();
    await clock.advanceTo(0.1 * second);
    expect(acquisition.isConnected(rig.photometer)).toBe(false);
    await clock.advanceTo(3 * second);
    expect(of(rig.photometer)).toHaveLength(2);
    expect(acquisition.isConnected(rig.photometer)).toBe(true);
    await acquisition.end();
    expect(clock.pending).toBe(0);
  });
});

describe('the end', () => {
  it('waits for a connection that is being opened, and closes it', async () => {
    let arrive: () => void = () => undefined;
    const { acquisition, of } = createBench((cable) =>
      cable.instrument === rig.photometer
        ? new Promise((resolve) => {
            arrive = () => resolve(cable);
          })
        : Promise.resolve(cable),
    );
    acquisition.begin();
    let ended = false;
    const ending = acquisition.end().then(() => {
      ended = true;
    });
    for (let hop = 0; hop < 50; hop += 1) await Promise.resolve();
    expect(ended).toBe(false);
    arrive();
    await ending;
    expect(of(rig.photometer).map((cable) => cable.closed)).toEqual([true]);
    expect(of(rig.selectorValve).every((cable) => cable.closed)).toBe(true);
  });

  it('says nothing of one that fails afterwards', async () => {
    const failures: (() => void)[] = [];
    const { acquisition, problems, clock } = createBench(
      () =>
        new Promise((_resolve, reject) => {
          failures.push(() => reject(new Error('no such port')));
        }),
    );
    acquisition.begin();
    const ending = acquisition.end();
    expect(failures).toHaveLength(rig.instruments.length);
    for (const fail of failures) fail();
    await ending;
    expect(problems).toEqual([]);
    expect(clock.pending).toBe(0);
  });
});

describe('whoever watches a wire', () => {
  it('sees bytes before the driver, every line, and every problem also where the record adds them up', async () => {
    const clock = createFakeClock();
    const seen: string[] = [];
    const recorded: Problem[] = [];
    let arrive: (bytes: Uint8Array, atMicroseconds: number) => void = () => undefined;
    const acquisition = createAcquisition({
      rig,
      clock,
      lines: createLineFramer,
      sink: {
        wire: () => seen.push('record'),
        reading: () => seen.push('reading'),
        problem: (problem) => recorded.push(problem),
      },
      longestRetrySeconds: 2,
      openTransport: (instrument) =>
        Promise.resolve({
          label: instrument,
          write: () => undefined,
          onBytes(listener) {
            if (instrument === rig.photometer) arrive = listener;
          },
          onClose: () => undefined,
          close: () => Promise.resolve(),
        }),
      watch: (instrument) => ({
        chunk: (direction, _, bytes) => seen.push(`${instrument} ${direction} ${bytes.length}`),
        speaksInLines: () => seen.push(`${instrument} lines`),
        line: () => seen.push(`${instrument} line`),
        delivered: () => undefined,
        problem: ({ code }) => seen.push(`${instrument} ${code}`),
      }),
    });
    acquisition.begin();
    await acquisition.connected();
    expect(seen.filter((one) => one === `${rig.photometer} lines`)).toHaveLength(1);
    seen.length = 0;
    arrive(textToBytes('nonsense\r\n'.repeat(20)), 10);
    const own = seen.filter((one) => one !== 'reading');
    expect(own.slice(0, 2)).toEqual([`${rig.photometer} in 200`, 'record']);
    expect(own.filter((one) => one === `${rig.photometer} line`)).toHaveLength(20);
    expect(own.filter((one) => one === `${rig.photometer} line-undecodable`)).toHaveLength(20);
    expect(recorded.length).toBeLessThan(20);
    await acquisition.end();
  });
});
