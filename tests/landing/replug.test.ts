import { readdirSync } from 'node:fs';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../drivers/framing/line.ts';
import { demo } from '../../drivers/virtual-rig/scenarios/demo.ts';
import { createAcquisition } from '../../src/host/acquisition/acquisition.ts';
import { createMonotonicClock } from '../../src/host/clock/monotonic-clock.ts';
import { createInProcessPair } from '../../src/host/transport/in-process.ts';
import { latin1 } from '../contract/drivers/support.ts';
import { eventually, inProcessPeer, pseudoTerminalPeer, tcpPeer } from '../support/transport-peers.ts';
import type { TransportPeer } from '../support/transport-peers.ts';

const cycles = 100;
/** What is compiled, cached and counted in the first ones is not counted as growth. */
const warmCycles = 20;
const line = latin1('conc 0.00873 mg/m3 ok *5C\r\n');

setFlagsFromString('--expose_gc');
const collect = runInNewContext('gc') as () => void;

interface Held {
  readonly descriptors: number;
  /** Handles and timers that keep the process alive, by name. */
  readonly resources: readonly string[];
  readonly heapMegabytes: number;
}

async function held(): Promise<Held> {
  await new Promise((resolve) => setTimeout(resolve, 300));
  collect();
  return {
    descriptors: readdirSync('/proc/self/fd').length,
    resources: process.getActiveResourcesInfo().sort(),
    heapMegabytes: process.memoryUsage().heapUsed / 1e6,
  };
}

describe('an instrument that is unplugged and plugged in again, a hundred times', () => {
  it.each<[string, () => Promise<TransportPeer>]>([
    ['in-process', inProcessPeer],
    ['tcp', tcpPeer],
    ['serial on a pseudo-terminal', pseudoTerminalPeer],
  ])('is read again every time, and leaves nothing behind: %s', async (_name, makePeer) => {
    const clock = createMonotonicClock();
    const { rig } = demo;
    let peer: TransportPeer | null = null;
    let [readings, lost, replugged] = [0, 0, 0];
    const acquisition = createAcquisition({
      rig,
      clock,
      lines: createLineFramer,
      longestRetrySeconds: 0.25,
      openTransport(instrument) {
        if (instrument !== rig.photometer) {
          return Promise.resolve(createInProcessPair(instrument, clock, { now: clock.now }).program);
        }
        return peer === null ? Promise.reject(new Error('not plugged in')) : peer.open(clock.now);
      },
      sink: {
        wire: () => undefined,
        reading() {
          readings += 1;
        },
        problem({ code, instrument }) {
          if (code === 'connection-lost' && instrument === rig.photometer) lost += 1;
        },
      },
    });
    const cycle = async (): Promise<void> => {
      const plugged = await makePeer();
      peer = plugged;
      const before = readings;
      await eventually(
        'a reading',
        () => {
          if (acquisition.isConnected(rig.photometer)) plugged.send(line);
          return readings > before;
        },
        20_000,
      );
      peer = null;
      plugged.vanish();
      await eventually('the loss', () => !acquisition.isConnected(rig.photometer), 20_000);
      await plugged.release();
      replugged += 1;
    };
    acquisition.begin();
    for (let count = 0; count < warmCycles; count += 1) await cycle();
    const begun = await held();
    for (let count = warmCycles; count < cycles; count += 1) await cycle();
    const ended = await held();
    console.log(JSON.stringify({ begun, ended, lost, readings }));
    expect(replugged).toBe(cycles);
    expect(lost).toBeGreaterThan(0);
    expect(ended.descriptors).toBe(begun.descriptors);
    expect(ended.resources).toEqual(begun.resources);
    // Eighty sessions that nobody let go of, with their buffers and promises, are more.
    expect(ended.heapMegabytes - begun.heapMegabytes).toBeLessThan(2);
    await acquisition.end();
  });
});
