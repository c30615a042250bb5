import { isDefinedError, safe } from '@orpc/client';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import { mostCallsAtOnce } from '../../../src/host/door/rpc.ts';
import { createTestHost, type TestHost } from '../../support/doors/test-host.ts';
import {
  openBrowserPeer,
  openMessagePortPeer,
  type DoorPeer,
  type TestWindow,
} from '../../support/doors/door-peers.ts';

const doors = [
  { name: 'browser door', open: openBrowserPeer },
  { name: 'message port door', open: openMessagePortPeer },
];

describe.each(doors)('$name', ({ open }) => {
  let host: TestHost;
  let door: DoorPeer;
  let window: TestWindow;

  beforeEach(async () => {
    host = createTestHost();
    door = await open(host.host);
    window = await door.enter();
  });

  afterEach(() => door.close());

  const changes = async (): Promise<AsyncIterator<Snapshot>> => (await window.client.watch({}))[Symbol.asyncIterator]();
  const next = async (iterator: AsyncIterator<Snapshot>): Promise<Snapshot> => {
    const { value } = (await iterator.next()) as { value: Snapshot };
    return value;
  };

  describe('snapshots', () => {
    it('come at once and after every change', async () => {
      const iterator = await changes();
      expect((await next(iterator)).version).toBe(1);
      host.change();
      expect((await next(iterator)).version).toBe(2);
      host.change();
      expect((await next(iterator)).version).toBe(3);
    });

    it('carry what a call has changed', async () => {
      const iterator = await changes();
      await next(iterator);
      const added = await window.client.person.add({ code: 'AB', name: 'A. B.', roles: ['operator'], pin: '1234' });
      expect((await next(iterator)).people).toEqual([added]);
    });

    it('pass a window by that does not take them, and it goes on with the newest', async () => {
      const iterator = await changes();
      await next(iterator);
      window.sleep();
      for (let index = 0; index < 200; index += 1) {
        host.change();
        await new Promise((resolve) => setImmediate(resolve));
      }
      window.wake();
      const versions: number[] = [];
      while (versions.at(-1) !== host.version) versions.push((await next(iterator)).version);
      // One was under way when it fell asleep; everything else is the newest, or what came while it caught up.
      expect(versions.length).toBeLessThanOrEqual(4);
      expect([...versions].sort((left, right) => left - right)).toEqual(versions);
    });

    it('end on the host when the window stops to watch', async () => {
      const iterator = await changes();
      await next(iterator);
      expect(host.listeners).toBe(1);
      await iterator.return?.();
      await vi.waitFor(() => expect(host.listeners).toBe(0));
    });

    it('end on the host when the window goes', async () => {
      const iterator = await changes();
      await next(iterator);
      const rest = iterator.next().catch(() => 'ended');
      window.leave();
      await vi.waitFor(() => expect(host.listeners).toBe(0));
      await rest;
    });
  });

  describe('calls', () => {
    it('answer', async () => {
      expect(await window.client.study.create({ name: 'morning' })).toEqual({ file: 'morning.chamberside' });
      expect((await window.client.clock({})).trialMicroseconds).toBeNull();
    });

    it('are refused with what, where and what to do', async () => {
      const [error] = await safe(window.client.person.choose({ code: 'ZZ' }));
      if (!isDefinedError(error)) throw new Error(`not the declared error: ${String(error)}`);
      expect(error.code).toBe('REFUSED');
      expect(error.data).toEqual({
        code: 'person-not-found',
        what: 'Nobody has this code',
        where: 'ZZ',
        remedy: 'Choose another.',
      });
    });

    it('name the field of a value that does not fit', async () => {
      const [error] = await safe(window.client.person.add({ code: '', name: 'A', roles: ['operator'], pin: '1234' }));
      if (!isDefinedError(error)) throw new Error(`not the declared error: ${String(error)}`);
      expect(error.data.code).toBe('usage-bad-value');
      expect(error.data.where).toBe('person.add.code');
    });

    it('carry the lengthening of a rest to the host, and no action that a trial does not have', async () => {
      const command = { trial: 't-000000000001', note: '', exercise: 'march', windowOffsetMilliseconds: null } as const;
      const [refused] = await safe(window.client.trial.command({ ...command, action: 'extend-rest' }));
      if (!isDefinedError(refused)) throw new Error(`not the declared error: ${String(refused)}`);
      // It came to the host, which has no trial.
      expect(refused.data.code).toBe('trial-not-found');
      const other = { ...command, action: 'shorten-rest' as 'extend-rest' };
      const [unknown] = await safe(window.client.trial.command(other));
      if (!isDefinedError(unknown)) throw new Error(`not the declared error: ${String(unknown)}`);
      expect(unknown.data).toMatchObject({ code: 'usage-bad-value', where: 'trial.command.action' });
    });

    it('keep the words and the stack of a defect inside', async () => {
      const [error] = await safe(window.client.rig.template({}));
      if (!isDefinedError(error)) throw new Error(`not the declared error: ${String(error)}`);
      expect(error.data.code).toBe('internal');
      expect(JSON.stringify(error)).not.toMatch(/secret words|test-host/);
      expect(door.defects).toEqual(['rig.template: TypeError: secret words of a defect']);
    });

    it.each(['{', '[]', 'null', '{"i":1}', '{"i":"1","p":{"u":"http://elsewhere/x"}}'])(
      'that make no sense end the channel: %s',
      async (text) => {
        window.garble(text);
        await window.callsEnded;
        expect(door.defects).toEqual([]);
      },
    );

    it('come in no more than a window needs at once', async () => {
      for (let index = 0; index <= mostCallsAtOnce; index += 1) {
        window.garble(JSON.stringify({ i: `x${index}`, p: { u: '/watch', b: { json: {} } } }));
      }
      await window.callsEnded;
      await vi.waitFor(() => expect(host.listeners).toBe(0));
    });
  });

  describe('samples', () => {
    it('come as frames, by credit, and say what was left out', async () => {
      window.say({ message: 'subscribe', streams: [0] });
      await window.client.clock({});
      await vi.waitFor(() => {
        host.sample(0.25);
        expect(window.frames.length).toBeGreaterThan(0);
      });
      for (let index = 0; index < 20; index += 1) host.sample(index);
      await vi.waitFor(() => expect(window.frames.length).toBe(8));
      window.say({ message: 'credit', frames: 1 });
      await vi.waitFor(() => {
        host.sample(99);
        expect(window.frames.length).toBe(9);
      });
      expect(window.frames.map((frame) => frame.number)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8]);
      expect(window.frames[8]?.leftOut).toBeGreaterThanOrEqual(12);
    });

    it('come from the past when asked for', async () => {
      const range = { fromMicroseconds: 2e6, toMicroseconds: 5e6, mostSamples: 1000 };
      window.say({ message: 'history', request: 7, of: null, stream: 0, ...range });
      await vi.waitFor(() => expect(window.frames.length).toBe(2));
      expect(window.frames.map((frame) => [frame.kind, frame.number])).toEqual([
        ['history', 7],
        ['history-end', 7],
      ]);
      expect([...(window.frames[0]?.values ?? [])]).toEqual([2, 3, 4, 5]);
    });

    it.each([
      { message: 'credit', frames: 0 },
      { message: 'anything' },
      { message: 'subscribe', streams: [-1] },
      ['no object'],
    ])('end at a message that is none: %j', async (message) => {
      window.say({ message: 'credit', frames: 1 });
      window.say(message);
      await window.samplesEnded;
      await vi.waitFor(() => expect(host.openChannels).toBe(0));
    });
  });

  describe('windows', () => {
    it('are told to the host once when they come and once when they go', async () => {
      const second = await door.enter();
      await second.client.clock({});
      expect(host.windowLog).toHaveLength(2);
      const [first, other] = host.windowLog.map((line) => line.replace('opened ', ''));
      expect(first).not.toBe(other);
      window.leave();
      await vi.waitFor(() => expect(host.windowLog).toHaveLength(3));
      second.leave();
      await vi.waitFor(() => expect(host.windowLog).toHaveLength(4));
      expect(host.windowLog).toEqual([`opened ${first}`, `opened ${other}`, `closed ${first}`, `closed ${other}`]);
      await vi.waitFor(() => expect(host.openChannels).toBe(0));
    });

    it('share what happens', async () => {
      const second = await door.enter();
      const iterator = (await second.client.watch({}))[Symbol.asyncIterator]();
      await next(iterator);
      await window.client.study.refresh({});
      expect((await next(iterator)).version).toBe(2);
    });

    it('are told when the door closes', async () => {
      const ended = Promise.all([window.callsEnded, window.samplesEnded]);
      await door.close();
      await ended;
      await vi.waitFor(() => expect(host.windowLog).toHaveLength(2));
      expect(host.openChannels).toBe(0);
    });
  });
});
