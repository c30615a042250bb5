import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { admissionLimits } from '../../../src/host/door/admissions.ts';
import { openBrowserDoor, type BrowserDoor } from '../../../src/host/door/browser-door.ts';
import type { DoorLimits } from '../../../src/host/door/door-limits.ts';
import {
  channelHeaders,
  enter,
  openChannel,
  testScreens,
  type Channel,
  type Entry,
} from '../../support/doors/browser-peer.ts';
import { createTestHost, type TestHost } from '../../support/doors/test-host.ts';

const tight: Partial<DoorLimits> = { helloMilliseconds: 300, mostWindows: 2, mostStrangers: 3 };

describe('the browser door', () => {
  let host: TestHost;
  let door: BrowserDoor;
  const open = (entry: Entry, kind = '/rpc', headers: Record<string, string> = {}): Channel =>
    openChannel(door.port, kind, { ...channelHeaders(door.port, entry), ...headers });
  const greet = async (channel: Channel, secret: string): Promise<void> => {
    await channel.opened;
    channel.socket.send(JSON.stringify({ message: 'hello', secret }));
  };

  beforeEach(async () => {
    host = createTestHost();
    door = await openBrowserDoor(host.host, { port: 0, files: testScreens, onDefect: () => undefined, limits: tight });
  });

  afterEach(() => door.close());

  describe('holds channels to the protocol', () => {
    it.each(['not JSON', '{"message":"credit","frames":1}', '{"message":"hello"}', '[]'])(
      'which begins with the hello, not with %s',
      async (text) => {
        const entry = await enter(door.issueAddress());
        for (const kind of ['/rpc', '/samples']) {
          const channel = open(entry, kind);
          await channel.opened;
          channel.socket.send(text);
          expect(await channel.ended).toEqual({ code: 4400, reason: 'the first message must be the hello' });
        }
        expect(host.windowLog).toEqual([]);
      },
    );

    it('which begins soon', async () => {
      const channel = open(await enter(door.issueAddress()));
      expect(await channel.ended).toEqual({ code: 4408, reason: 'no hello' });
    });

    it('which is text', async () => {
      const entry = await enter(door.issueAddress());
      const channel = open(entry, '/samples');
      await greet(channel, entry.secret);
      channel.socket.send(Buffer.from('{"message":"credit","frames":1}'));
      expect(await channel.ended).toEqual({ code: 4400, reason: 'text messages only' });
      await vi.waitFor(() => expect(host.openChannels).toBe(0));
    });

    it('which has reasons for an end', async () => {
      const entry = await enter(door.issueAddress());
      const samples = open(entry, '/samples');
      await greet(samples, entry.secret);
      samples.socket.send('{"message":"credit"}');
      expect(await samples.ended).toEqual({ code: 4400, reason: 'not a message of the sample channel' });
      const calls = open(entry);
      await greet(calls, entry.secret);
      calls.socket.send('{"i":5}');
      expect(await calls.ended).toEqual({ code: 4400, reason: 'not a message of this protocol' });
    });

    it.each([
      ['/rpc', 256 * 1024],
      ['/samples', 8 * 1024],
    ])('whose messages are small: %s', async (kind, most) => {
      const entry = await enter(door.issueAddress());
      const channel = open(entry, kind);
      await greet(channel, entry.secret);
      channel.socket.send('x'.repeat(most + 1));
      expect((await channel.ended).code).toBe(1009);
    });

    it('for a few windows', async () => {
      const entry = await enter(door.issueAddress());
      const channels = [open(entry), open(entry)];
      for (const channel of channels) {
        await greet(channel, entry.secret);
        await channel.next();
      }
      const third = open(entry);
      await greet(third, entry.secret);
      expect(await third.ended).toEqual({ code: 4429, reason: 'too many windows' });
      channels[0]?.socket.close();
      await channels[0]?.ended;
      await vi.waitFor(() => expect(door.windows).toBe(1));
      const fourth = open(entry);
      await greet(fourth, entry.secret);
      expect((await fourth.next()).toString()).toContain('welcome');
    });

    it('for a few strangers at once', async () => {
      const entry = await enter(door.issueAddress());
      const channels = Array.from({ length: 4 }, () => open(entry));
      const endings = await Promise.all(channels.map((channel) => channel.ended));
      expect(endings.map((ending) => ending.code).sort()).toEqual([4408, 4408, 4408, 4429]);
    });

    it('and lets nobody guess on and on', async () => {
      const entry = await enter(door.issueAddress());
      for (let guess = 0; guess < admissionLimits.mostWrongSecrets; guess += 1) {
        const channel = open(entry);
        await greet(channel, `guess ${guess}`);
        await channel.ended;
      }
      await expect(open(entry).opened).rejects.toThrow('429');
      // Another session is not held back by it.
      const other = await enter(door.issueAddress());
      const channel = open(other);
      await greet(channel, other.secret);
      expect((await channel.next()).toString()).toContain('welcome');
    });

    it('and ends one that shows no sign of life', async () => {
      const limits = { askMilliseconds: 50, silentMilliseconds: 200 };
      const strict = await openBrowserDoor(host.host, {
        port: 0,
        files: testScreens,
        onDefect: () => undefined,
        limits,
      });
      try {
        const entry = await enter(strict.issueAddress());
        const channel = openChannel(strict.port, '/rpc', channelHeaders(strict.port, entry));
        await greet(channel, entry.secret);
        await channel.next();
        await new Promise((resolve) => setTimeout(resolve, 500));
        expect(strict.windows).toBe(1);
        channel.socket.pause();
        await vi.waitFor(() => expect(host.windowLog.at(-1)).toMatch(/^closed/), { timeout: 5_000 });
        channel.socket.terminate();
      } finally {
        await strict.close();
      }
    });
  });
});
