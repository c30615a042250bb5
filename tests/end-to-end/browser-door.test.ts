import { createServer, type IncomingHttpHeaders } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Browser, BrowserContext, Page } from 'playwright';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../src/host/door/browser-door.ts';
import type { StaticFiles } from '../../src/host/door/static-files.ts';
import { collectComplaints, judgeComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { ask, channelHeaders, openChannel } from '../support/doors/browser-peer.ts';
import { createTestHost, type TestHost } from '../support/doors/test-host.ts';

/** Screens that say hello with the secret of their page and show what becomes of it. */
const script = `
  const secret = document.querySelector('meta[name="chamberside-window"]').content;
  const socket = new WebSocket('ws://' + location.host + '/rpc');
  const show = (text) => { document.querySelector('output').textContent = text; };
  socket.onopen = () => socket.send(JSON.stringify({ message: 'hello', secret }));
  socket.onmessage = (event) => show(event.data);
  socket.onclose = (event) => show('closed ' + event.code);
`;
const file = (contentType: string, text: string) => ({ contentType, bytes: Buffer.from(text) });
const screens: StaticFiles = {
  page: [
    '<!doctype html><html lang="en"><head><title>Test</title><style nonce="CHAMBERSIDE_NONCE">p{color:red}</style>',
    '<link rel="stylesheet" crossorigin href="/assets/app.css">',
    '<script type="module" crossorigin src="/assets/app.js"></script></head>',
    '<body><p>words</p><output>nothing</output></body></html>',
  ].join(''),
  files: new Map([
    ['/assets/app.js', file('text/javascript; charset=utf-8', script)],
    ['/assets/app.css', file('text/css; charset=utf-8', 'output{font-weight:700}')],
  ]),
};
const welcome = '{"message":"welcome"}';

describe('the browser door in a browser', () => {
  let browser: Browser;
  let context: BrowserContext;
  let host: TestHost;
  let door: BrowserDoor;
  let complaints: string[];

  beforeAll(async () => {
    browser = await launchBrowser();
  });
  afterAll(() => browser.close());

  beforeEach(async () => {
    host = createTestHost();
    door = await openBrowserDoor(host.host, { port: 0, files: screens, onDefect: () => undefined });
    context = await browser.newContext();
    complaints = [];
    await collectComplaints(context, (complaint) => complaints.push(complaint));
  });
  afterEach(async () => {
    await context.close();
    await door.close();
  });

  const shows = (page: Page, text: string): Promise<void> =>
    vi.waitFor(async () => expect(await page.textContent('output')).toBe(text), { timeout: 20_000 });

  it('lets a window in without a complaint of its policy, and in again after it was loaded again', async () => {
    const page = await context.newPage();
    await page.goto(door.issueAddress());
    expect(page.url()).toBe(`http://127.0.0.1:${door.port}/`);
    await shows(page, welcome);
    expect(await page.evaluate("getComputedStyle(document.querySelector('p')).color")).toBe('rgb(255, 0, 0)');
    expect(await page.evaluate("getComputedStyle(document.querySelector('output')).fontWeight")).toBe('700');
    for (let time = 0; time < 3; time += 1) {
      await page.reload();
      await shows(page, welcome);
    }
    await vi.waitFor(() => expect(door.windows).toBe(1));
    expect(complaints).toEqual([]);
  });

  it('keeps its policy: scripts and connections that are not the page’s own are refused', async () => {
    const page = await context.newPage();
    await page.goto(door.issueAddress());
    await shows(page, welcome);
    const attempts = [
      "document.body.append(Object.assign(document.createElement('script'), { textContent: 'window.injected = 1' }))",
      "fetch('http://127.0.0.1:9/').catch(() => 0)",
      `document.body.insertAdjacentHTML('beforeend', '<p style="color:blue">x</p>')`,
      `document.body.insertAdjacentHTML('beforeend', '<img src="http://127.0.0.1:9/x">')`,
    ];
    for (const attempt of attempts) await page.evaluate(attempt);
    await vi.waitFor(() => expect(complaints.filter((text) => /policy/i.test(text)).length).toBeGreaterThanOrEqual(4));
    expect(await page.evaluate('typeof window.injected')).toBe('undefined');
    // By what every test of a window is judged: each of the violations fails it, whatever else it may provoke.
    const words = complaints.filter((text) => text.startsWith('Violation of the policy'));
    for (const directive of ['script-src', 'connect-src', 'style-src', 'img-src']) {
      const own = words.filter((text) => text.includes(directive));
      expect(() => judgeComplaints(own, ['host-away', 'window-refused']), directive).toThrow('the browser complains');
    }
    expect(() => judgeComplaints([], [])).not.toThrow();
  });

  it('tells a window with the cookie but without an address of its own what to do', async () => {
    const first = await context.newPage();
    await first.goto(door.issueAddress());
    await shows(first, welcome);
    const second = await context.newPage();
    await second.goto(`http://127.0.0.1:${door.port}/`);
    await vi.waitFor(async () => expect(await second.textContent('h1')).toBe('This window is not known'));
    await second.goto(door.issueAddress());
    await shows(second, welcome);
    await shows(first, welcome);
    await vi.waitFor(() => expect(door.windows).toBe(2));
  });

  it('comes to the page from a link elsewhere', async () => {
    const elsewhere = createServer((_, response) => {
      response.setHeader('Content-Type', 'text/html');
      response.end(`<a href="${door.issueAddress()}">go</a>`);
    });
    await new Promise<void>((resolve) => elsewhere.listen(0, '127.0.0.1', resolve));
    try {
      const page = await context.newPage();
      // Another site by its name, though it is the same machine.
      await page.goto(`http://localhost:${(elsewhere.address() as AddressInfo).port}/`);
      await page.click('a');
      await shows(page, welcome);
      await page.reload();
      await shows(page, welcome);
    } finally {
      elsewhere.close();
    }
  });

  it('gives nothing to a server at another port that gets the cookie', async () => {
    const page = await context.newPage();
    await page.goto(door.issueAddress());
    await shows(page, welcome);
    const seen: IncomingHttpHeaders[] = [];
    const thief = createServer((request, response) => {
      seen.push(request.headers);
      response.setHeader('Content-Type', 'text/html');
      response.end(
        `<script>new WebSocket('ws://127.0.0.1:${door.port}/rpc').onclose=()=>{document.title='refused'}</script>`,
      );
    });
    await new Promise<void>((resolve) => thief.listen(0, '127.0.0.1', resolve));
    try {
      const visit = await context.newPage();
      await visit.goto(`http://127.0.0.1:${(thief.address() as AddressInfo).port}/`);
      const cookie = seen[0]?.cookie ?? '';
      expect(cookie).toContain(`chamberside-${door.port}=`);
      await vi.waitFor(async () => expect(await visit.title()).toBe('refused'));
      const stolen = await ask(door.port, '/', { cookie });
      expect(stolen.body).toContain('<meta name="chamberside-window" content="">');
      const channel = openChannel(door.port, '/rpc', channelHeaders(door.port, { cookie, secret: '' }));
      await channel.opened;
      channel.socket.send(JSON.stringify({ message: 'hello', secret: '' }));
      expect((await channel.ended).code).toBe(4401);
    } finally {
      thief.close();
    }
  });

  it('passes a window by that hangs, and it goes on with the newest', async () => {
    const page = await context.newPage();
    await page.goto(door.issueAddress());
    await shows(page, welcome);
    // Calls of the contract as they stand on the wire, over a channel of the page's own.
    await page.evaluate(`
      const secret = document.querySelector('meta[name="chamberside-window"]').content;
      const socket = new WebSocket('ws://' + location.host + '/rpc');
      window.versions = [];
      socket.onopen = () => {
        socket.send(JSON.stringify({ message: 'hello', secret }));
        socket.send(JSON.stringify({ i: 'w', p: { u: '/watch', b: { json: {} } } }));
      };
      socket.onmessage = (event) => {
        const version = /"version":([0-9]+)/.exec(event.data);
        if (version) window.versions.push(Number(version[1]));
      };
    `);
    await vi.waitFor(async () => expect(await page.evaluate('versions.length')).toBe(1));
    const hanging = page.evaluate('{ const until = Date.now() + 3000; while (Date.now() < until); }');
    const changing = setInterval(() => host.change(), 20);
    await hanging;
    clearInterval(changing);
    expect(host.version).toBeGreaterThan(60);
    const seen = (): Promise<number[]> => page.evaluate<number[]>('versions');
    await vi.waitFor(async () => expect((await seen()).at(-1)).toBe(host.version));
    // What the browser itself holds back for the page, and no more.
    expect((await seen()).length).toBeLessThanOrEqual(20);
  });

  it('shows plain words, once, to a window that is refused', async () => {
    const page = await context.newPage();
    const answer = await page.goto(`http://127.0.0.1:${door.port}/`);
    expect(answer?.status()).toBe(403);
    expect(await page.textContent('main')).toContain('open the newest address');
    await page.waitForTimeout(500);
    // The browser itself notes the status of the page.
    expect(complaints.filter((text) => !text.includes('403'))).toEqual([]);
    expect(complaints.length).toBeLessThanOrEqual(1);
  });
});
