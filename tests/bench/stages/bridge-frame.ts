import { once } from 'node:events';
import type { AddressInfo } from 'node:net';
import { WebSocket, WebSocketServer } from 'ws';
import { decodeFrame } from '../../../src/bridge/frame.ts';
import type { Clock } from '../../../src/device/timers.ts';
import { createEventQueue } from '../../../src/host/clock/event-queue.ts';
import { openBrowserDoor } from '../../../src/host/door/browser-door.ts';
import { createSampleHub } from '../../../src/host/samples/sample-hub.ts';
import { channelHeaders, enter, openChannel, testScreens } from '../../support/doors/browser-peer.ts';
import { createTestHost } from '../../support/doors/test-host.ts';
import type { Sides, Stage } from '../stage.ts';
import { assertSame, timedUntil } from '../stage.ts';

const samples = 50;
/** Between two trips on the hub's clock, µs: longer than the hub waits between two frames. */
const tripMicroseconds = 50_000;
/**
 * One binary frame of 50 samples: a window gives credit, the host sends what has come meanwhile. Floor: a bare
 * web socket of the same library in this process, the same question, an answer of as many bytes made of two arrays and
 * read into two arrays. Product: ring, hub, channel, frame, door with its admission, frame. The hub's clock is moved by
 * the question, so that how long it waits on purpose is not measured.
 */
export const bridgeFrame: Stage = {
  name: 'bridge-frame',
  unit: 'µs a round trip',
  target: 3,
  rounds: { full: 2000, tiny: 5 },
  warmUps: 500,
  async begin() {
    const bare = await openBare();
    const product = await openProduct().catch(async (error: unknown) => {
      await bare.end();
      throw error;
    });
    const microseconds = async ({ trip }: Line): Promise<number> => (await timedUntil(trip)) * 1000;
    return {
      floor: () => microseconds(bare),
      product: () => microseconds(product),
      async end() {
        await bare.end();
        await product.end();
      },
    };
  },
};

interface Line {
  trip(): Promise<void>;
  end: Sides['end'];
}

const question = JSON.stringify({ message: 'credit', frames: 1 });

async function openBare(): Promise<Line> {
  const server = new WebSocketServer({ host: '127.0.0.1', port: 0, perMessageDeflate: false });
  await once(server, 'listening');
  const times = Float64Array.from({ length: samples }, (_, index) => index * 10_000);
  const values = times.map((at) => Math.sin(at));
  server.on('connection', (socket) => {
    socket.on('message', () => {
      const bytes = new Uint8Array(24 + 12 * samples);
      const view = new DataView(bytes.buffer);
      for (let index = 0; index < samples; index += 1) {
        view.setUint32(24 + 4 * index, times[index] as number, true);
        view.setFloat64(24 + 4 * samples + 8 * index, values[index] as number, true);
      }
      socket.send(bytes);
    });
  });
  const { port } = server.address() as AddressInfo;
  const client = new WebSocket(`ws://127.0.0.1:${port}`, { perMessageDeflate: false });
  await once(client, 'open');
  return {
    trip: () =>
      new Promise((resolve) => {
        client.once('message', (data: Buffer) => {
          const view = new DataView(data.buffer, data.byteOffset, data.length);
          const readTimes = new Float64Array(samples);
          const readValues = new Float64Array(samples);
          for (let index = 0; index < samples; index += 1) {
            readTimes[index] = view.getUint32(24 + 4 * index, true);
            readValues[index] = view.getFloat64(24 + 4 * samples + 8 * index, true);
          }
          resolve();
        });
        client.send(question);
      }),
    async end() {
      client.terminate();
      await new Promise((resolve) => server.close(resolve));
    },
  };
}

async function openProduct(): Promise<Line> {
  const { clock, pass } = createHandClock();
  const hub = createSampleHub({ clock, readHistory: () => Promise.reject(new Error('nobody asks for history')) });
  const beginsAtMicroseconds = clock.now();
  hub.begin(1);
  hub.setBase({
    beginsAtMicroseconds,
    toBase: (at) => at - beginsAtMicroseconds,
    now: () => clock.now() - beginsAtMicroseconds,
    recorded: null,
  });
  const door = await openBrowserDoor(
    {
      ...createTestHost().host,
      openSamples(send, waiting) {
        const opened = hub.open(send, waiting);
        return {
          ...opened,
          receive(message) {
            opened.receive(message);
            pass(tripMicroseconds);
          },
        };
      },
    },
    {
      port: 0,
      files: testScreens,
      onDefect(error) {
        throw error;
      },
    },
  );
  const entry = await enter(door.issueAddress());
  const channel = openChannel(door.port, '/samples', channelHeaders(door.port, entry));
  await channel.opened;
  channel.socket.send(JSON.stringify({ message: 'hello', secret: entry.secret }));
  channel.socket.send(JSON.stringify({ message: 'subscribe', streams: [0] }));
  // A heartbeat answers the hello.
  await channel.next();
  return {
    async trip() {
      const now = clock.now();
      for (let index = 0; index < samples; index += 1) {
        hub.push(0, now + (index * tripMicroseconds) / samples, Math.sin(index));
      }
      channel.socket.send(question);
      for (;;) {
        const frame = decodeFrame(await channel.next());
        if (frame?.kind === 'heartbeat') continue;
        assertSame('bridge-frame', 'samples', samples, frame?.values.length);
        return;
      }
    },
    async end() {
      channel.socket.terminate();
      hub.close();
      await door.close();
    },
  };
}

/** A clock that stands still but for `pass`, which calls what falls due on the way. */
function createHandClock(): { readonly clock: Clock; pass(microseconds: number): void } {
  const queue = createEventQueue();
  let now = 0;
  const at: Clock['at'] = (atMicroseconds, callback) => queue.add(Math.max(atMicroseconds, now), callback);
  return {
    clock: { now: () => now, at, after: (microseconds, callback) => at(now + microseconds, callback) },
    pass(microseconds) {
      const until = now + microseconds;
      for (let next = queue.next(); next !== undefined && next <= until; next = queue.next()) {
        now = next;
        queue.take()?.();
      }
      now = until;
    },
  };
}
