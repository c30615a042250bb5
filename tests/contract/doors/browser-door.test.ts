import { connect, createServer, type AddressInfo } from 'node:net';
import { networkInterfaces } from 'node:os';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../../src/host/door/browser-door.ts';
import { closeCodes, type DoorLimits } from '../../../src/host/door/door-limits.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import {
  ask,
  channelHeaders,
  cookieOf,
  enter,
  noScreens,
  openChannel,
  secretOf,
  testScreens,
  type Channel,
  type Entry,
} from '../../support/doors/browser-peer.ts';
import { createTestHost, type TestHost } from '../../support/doors/test-host.ts';

const tight: Partial<DoorLimits> = { helloMilliseconds: 300, mostWindows: 2, mostStrangers: 3 };

describe('the browser door', () => {
  let host: TestHost;
  let door: BrowserDoor;
  const path = (address: string): string => address.slice(address.indexOf('/', 7));
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

  describe('lets a window in', () => {
    it('by an address: redirection, cookie, page with a secret, welcome', async () => {
      const address = door.issueAddress();
      expect(address).toMatch(new RegExp(`^http://127\\.0\\.0\\.1:${door.port}/\\?token=[\\w-]{43}$`));
      const exchange = await ask(door.port, path(address));
      expect(exchange.status).toBe(303);
      expect(exchange.headers.location).toBe('/');
      expect(exchange.headers['set-cookie']?.[0]).toMatch(
        new RegExp(`^chamberside-${door.port}=[\\w-]{43}; Path=/; HttpOnly; SameSite=Strict$`),
      );
      const cookie = cookieOf(exchange);
      const page = await ask(door.port, '/', { cookie });
      expect(page.status).toBe(200);
      const channel = open({ cookie, secret: secretOf(page) });
      await greet(channel, secretOf(page));
      expect(JSON.parse((await channel.next()).toString())).toEqual({ message: 'welcome' });
      expect(door.windows).toBe(1);
    });

    it('and again after it was loaded again or lost its connection, by the secret that it kept', async () => {
      const entry = await enter(door.issueAddress());
      for (let time = 0; time < 3; time += 1) {
        const channel = open(entry);
        await greet(channel, entry.secret);
        await channel.next();
        channel.socket.close();
        await channel.ended;
        expect((await ask(door.port, '/', { cookie: entry.cookie })).status).toBe(200);
      }
      await vi.waitFor(() => expect(host.windowLog.length).toBe(6));
    });

    it('from a link elsewhere: the page goes on by itself, because a redirection would lose the cookie', async () => {
      const elsewhere = { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'navigate', 'sec-fetch-dest': 'document' };
      const exchange = await ask(door.port, path(door.issueAddress()), elsewhere);
      expect(exchange.status).toBe(200);
      expect(exchange.body).toContain('<meta http-equiv="refresh" content="0;url=/">');
      const page = await ask(door.port, '/', { cookie: cookieOf(exchange) });
      expect(secretOf(page)).toMatch(/^[\w-]{43}$/);
    });

    it('a second time in the same browser: both windows stay', async () => {
      const first = await enter(door.issueAddress());
      const second = await enter(door.issueAddress(), first.cookie);
      expect(second.cookie).toBe(first.cookie);
      expect(second.secret).not.toBe(first.secret);
      for (const entry of [first, second]) {
        const channel = open(entry);
        await greet(channel, entry.secret);
        await channel.next();
      }
      expect(door.windows).toBe(2);
    });
  });

  describe('keeps out', () => {
    const nothing = async (answer: Promise<{ status: number; body: string }>, status = 403): Promise<void> => {
      const { status: found, body } = await answer;
      expect(found).toBe(status);
      expect(body).not.toMatch(/chamberside-window|app\.js/);
    };

    it('whoever has no cookie, and tells a person what to do', async () => {
      await nothing(ask(door.port, '/'));
      await nothing(ask(door.port, '/assets/app.js'));
      await nothing(ask(door.port, '/trial'));
      const { body, headers } = await ask(door.port, '/');
      expect(body).toContain('open the newest address');
      expect(headers['content-security-policy']).toContain("default-src 'none'");
    });

    it('a wrong token, and one that was used', async () => {
      const address = door.issueAddress();
      await nothing(ask(door.port, `/?token=${'A'.repeat(43)}`));
      await nothing(ask(door.port, '/?token='));
      await enter(address);
      await nothing(ask(door.port, path(address)));
    });

    it('a cookie that is wrong, or of another host', async () => {
      const other = await openBrowserDoor(host.host, { port: 0, files: testScreens, onDefect: () => undefined });
      try {
        const { cookie } = await enter(other.issueAddress());
        await nothing(ask(door.port, '/', { cookie }));
        await nothing(ask(door.port, '/', { cookie: cookie.replace(String(other.port), String(door.port)) }));
      } finally {
        await other.close();
      }
    });

    it('whoever has the cookie alone: the page carries no secret a second time', async () => {
      const { cookie } = await enter(door.issueAddress());
      expect(secretOf(await ask(door.port, '/', { cookie }))).toBe('');
      const channel = open({ cookie, secret: '' });
      await greet(channel, '');
      expect((await channel.ended).code).toBe(closeCodes.wrongSecret);
    });

    it('the secret of another session', async () => {
      const mine = await enter(door.issueAddress());
      const other = await enter(door.issueAddress());
      expect(other.cookie).not.toBe(mine.cookie);
      const channel = open(mine);
      await greet(channel, other.secret);
      expect(await channel.ended).toEqual({ code: 4401, reason: 'not a window of this host' });
      expect(host.windowLog).toEqual([]);
    });

    it.each(['localhost', 'rebound.example', '127.0.0.2', '[::1]'])('requests for another host: %s', async (name) => {
      const entry = await enter(door.issueAddress());
      const headers = { cookie: entry.cookie, host: `${name}:${door.port}` };
      await nothing(ask(door.port, '/', headers));
      await nothing(ask(door.port, path(door.issueAddress()), { host: headers.host }));
      await expect(open(entry, '/rpc', { host: headers.host }).opened).rejects.toThrow('403');
    });

    it('requests for the right host at another port', async () => {
      const { cookie } = await enter(door.issueAddress());
      await nothing(ask(door.port, '/', { cookie, host: `127.0.0.1:${door.port - 1}` }));
      await nothing(ask(door.port, '/', { cookie, host: '127.0.0.1' }));
    });

    it.each(['http://127.0.0.1:1', 'https://elsewhere.example', 'null', 'file://'])(
      'pages of another origin: %s',
      async (origin) => {
        const entry = await enter(door.issueAddress());
        await nothing(ask(door.port, '/', { cookie: entry.cookie, origin }));
        await expect(open(entry, '/rpc', { origin }).opened).rejects.toThrow('403');
        await expect(open(entry, '/samples', { origin }).opened).rejects.toThrow('403');
      },
    );

    it('channels without origin, and without cookie', async () => {
      const entry = await enter(door.issueAddress());
      await expect(openChannel(door.port, '/rpc', { cookie: entry.cookie }).opened).rejects.toThrow('403');
      const origin = `http://127.0.0.1:${door.port}`;
      await expect(openChannel(door.port, '/rpc', { origin }).opened).rejects.toThrow('403');
      await expect(open(entry, '/anything').opened).rejects.toThrow('404');
      await expect(open(entry, '/rpc?x=1').opened).rejects.toThrow('404');
    });

    it('scripts and frames of a page at another port', async () => {
      const { cookie } = await enter(door.issueAddress());
      const script = { 'sec-fetch-site': 'same-site', 'sec-fetch-mode': 'no-cors', 'sec-fetch-dest': 'script' };
      await nothing(ask(door.port, '/assets/app.js', { cookie, ...script }));
      const frame = { 'sec-fetch-site': 'same-site', 'sec-fetch-mode': 'navigate', 'sec-fetch-dest': 'iframe' };
      await nothing(ask(door.port, '/', { cookie, ...frame }));
    });

    it('browsers that fetch ahead and heads that only look, without using the token up', async () => {
      const address = door.issueAddress();
      await nothing(ask(door.port, path(address), { 'sec-purpose': 'prefetch;prerender' }), 503);
      await nothing(ask(door.port, path(address), {}, 'HEAD'));
      expect((await enter(address)).secret).toMatch(/^[\w-]{43}$/);
    });

    it.each(['POST', 'PUT', 'DELETE', 'OPTIONS', 'PATCH'])('everything but reading: %s', async (method) => {
      const { cookie } = await enter(door.issueAddress());
      await nothing(ask(door.port, '/', { cookie }, method), 405);
    });

    it.each([
      '/../package.json',
      '/assets/../../package.json',
      '/assets/%2e%2e/%2e%2e/etc/passwd',
      '/..%2f..%2fetc%2fpasswd',
      '/%5c..%5cetc',
      '//elsewhere.example/',
      'http://elsewhere.example/',
    ])('paths that lead outside: %s', async (outside) => {
      const { cookie } = await enter(door.issueAddress());
      await nothing(ask(door.port, outside, { cookie }), 400);
    });

    it('files that are not of the screens', async () => {
      const { cookie } = await enter(door.issueAddress());
      await nothing(ask(door.port, '/assets/other.js', { cookie }), 404);
      await nothing(ask(door.port, '/index.html', { cookie }), 404);
    });

    it('everybody who does not come over loopback', async () => {
      const outside = Object.values(networkInterfaces())
        .flatMap((each) => each ?? [])
        .filter((each) => each.family === 'IPv4')
        .map((each) => (each.internal ? '127.0.0.2' : each.address));
      expect(outside.length).toBeGreaterThan(0);
      for (const address of outside) {
        const reached = await new Promise<boolean>((resolve) => {
          const socket = connect({ host: address, port: door.port, timeout: 2_000 });
          socket.once('connect', () => resolve(true));
          socket.once('error', () => resolve(false));
          socket.once('timeout', () => resolve(false));
        });
        expect(reached, address).toBe(false);
      }
    });
  });

  describe('serves', () => {
    it('the page under a policy with a nonce of its own each time', async () => {
      const { cookie } = await enter(door.issueAddress());
      const nonces = new Set<string>();
      for (let time = 0; time < 3; time += 1) {
        const { headers, body } = await ask(door.port, '/', { cookie });
        const nonce = /'nonce-([\w-]+)'/.exec(headers['content-security-policy'] as string)?.[1] ?? '';
        expect(headers['content-security-policy']).toBe(
          `default-src 'none'; script-src 'self' 'nonce-${nonce}'; style-src 'self' 'nonce-${nonce}'; ` +
            `font-src 'self'; img-src 'self' data:; connect-src 'self' ws://127.0.0.1:${door.port}; ` +
            "worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
        );
        expect(body).toContain(`<style nonce="${nonce}">`);
        expect(body).not.toContain('CHAMBERSIDE_NONCE');
        expect(headers).toMatchObject({
          'cache-control': 'no-store',
          'x-content-type-options': 'nosniff',
          'cross-origin-opener-policy': 'same-origin',
          'cross-origin-resource-policy': 'same-origin',
          'referrer-policy': 'no-referrer',
          'content-type': 'text/html; charset=utf-8',
        });
        nonces.add(nonce);
      }
      expect(nonces.size).toBe(3);
    });

    it('files with their type, and places of the program as the page', async () => {
      const { cookie } = await enter(door.issueAddress());
      const script = await ask(door.port, '/assets/app.js', { cookie });
      expect(script.headers['content-type']).toBe('text/javascript; charset=utf-8');
      expect(script.headers['x-content-type-options']).toBe('nosniff');
      expect(script.body).toBe('export {};\n');
      expect((await ask(door.port, '/trial/t-0q3k', { cookie })).body).toContain('/assets/app.js');
      const head = await ask(door.port, '/', { cookie }, 'HEAD');
      expect([head.status, head.body]).toEqual([200, '']);
    });

    it('an empty icon to everybody, so that no console complains', async () => {
      expect((await ask(door.port, '/favicon.ico')).status).toBe(204);
    });

    it('words instead of screens where there are none', async () => {
      const bare = await openBrowserDoor(host.host, { port: 0, files: noScreens, onDefect: () => undefined });
      try {
        const exchange = await ask(bare.port, path(bare.issueAddress()));
        const page = await ask(bare.port, '/', { cookie: cookieOf(exchange) });
        expect([page.status, page.body.includes('npm ci')]).toEqual([503, true]);
      } finally {
        await bare.close();
      }
    });
  });

  it('is free again within seconds when connections that say nothing have taken every place', async () => {
    const silent = Array.from({ length: 140 }, () => connect(door.port, '127.0.0.1'));
    for (const socket of silent) socket.on('error', () => undefined);
    const entered = async (): Promise<number | null> => {
      try {
        return (await ask(door.port, path(door.issueAddress()))).status ?? null;
      } catch {
        return null;
      }
    };
    try {
      const waiting = (): number => silent.filter(({ readyState }) => readyState === 'open').length;
      await vi.waitFor(() => expect(waiting()).toBeGreaterThan(100));
      expect(await entered()).toBeNull();
      await vi.waitFor(async () => expect(await entered()).toBe(303), { timeout: 8_000, interval: 500 });
    } finally {
      for (const socket of silent) socket.destroy();
    }
  }, 15_000);

  it('says that its port is taken', async () => {
    const blocker = createServer();
    await new Promise<void>((resolve) => blocker.listen(0, '127.0.0.1', resolve));
    const { port } = blocker.address() as AddressInfo;
    try {
      const opening = openBrowserDoor(host.host, { port, files: testScreens, onDefect: () => undefined });
      await expect(opening).rejects.toSatisfy((error) => isChambersideError(error, 'port-busy'));
    } finally {
      blocker.close();
    }
  });
});
