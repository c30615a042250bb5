import { request, type IncomingHttpHeaders } from 'node:http';
import { WebSocket } from 'ws';
import { readStaticFiles, type StaticFiles } from '../../../src/host/door/static-files.ts';

/** One answer of a door. */
export interface Answer {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
}

/** Asks a door as it is told to, without a browser's courtesies. */
export function ask(port: number, path: string, headers: Record<string, string> = {}, method = 'GET'): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const asked = request({ host: '127.0.0.1', port, path, method, headers, agent: false }, (response) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('end', () => {
        const body = Buffer.concat(chunks).toString('utf8');
        resolve({ status: response.statusCode ?? 0, headers: response.headers, body });
      });
    });
    asked.on('error', reject);
    asked.end();
  });
}

/** What a window has after it came in by an address. */
export interface Entry {
  readonly cookie: string;
  readonly secret: string;
}

export function cookieOf(answer: Answer): string {
  return (answer.headers['set-cookie']?.[0] ?? '').split(';')[0] ?? '';
}

export function secretOf(answer: Answer): string {
  return /<meta name="chamberside-window" content="([^"]*)">/.exec(answer.body)?.[1] ?? 'no such element';
}

/** Goes in by an address as a browser does: address, cookie, page. */
export async function enter(address: string, cookieBefore?: string): Promise<Entry> {
  const url = new URL(address);
  const before: Record<string, string> = cookieBefore === undefined ? {} : { cookie: cookieBefore };
  const exchange = await ask(Number(url.port), `${url.pathname}${url.search}`, before);
  if (exchange.status !== 303) throw new Error(`the address was answered with ${exchange.status}`);
  const cookie = cookieOf(exchange);
  const page = await ask(Number(url.port), exchange.headers.location ?? '', { cookie });
  return { cookie, secret: secretOf(page) };
}

/** How a channel ended. */
export interface Ending {
  readonly code: number;
  readonly reason: string;
}

/** A channel's client end. `opened` rejects with the status when the door refuses the upgrade. */
export interface Channel {
  readonly socket: WebSocket;
  readonly opened: Promise<void>;
  readonly ended: Promise<Ending>;
  /** The next message that nobody has waited for yet. */
  next(): Promise<Buffer>;
}

export function openChannel(port: number, path: string, headers: Record<string, string>): Channel {
  const socket = new WebSocket(`ws://127.0.0.1:${port}${path}`, { headers, perMessageDeflate: false });
  const arrived: Buffer[] = [];
  const waiting: ((data: Buffer) => void)[] = [];
  socket.on('message', (data: Buffer) => {
    const first = waiting.shift();
    if (first === undefined) arrived.push(data);
    else first(data);
  });
  const opened = new Promise<void>((resolve, reject) => {
    socket.once('open', resolve);
    socket.once('unexpected-response', (_, response) => {
      reject(new Error(String(response.statusCode)));
      socket.terminate();
    });
    socket.on('error', reject);
  });
  opened.catch(() => undefined);
  const ended = new Promise<Ending>((resolve) => {
    socket.once('close', (code, reason) => resolve({ code, reason: reason.toString() }));
  });
  const next = (): Promise<Buffer> =>
    new Promise((resolve) => {
      const first = arrived.shift();
      if (first === undefined) waiting.push(resolve);
      else resolve(first);
    });
  return { socket, opened, ended, next };
}

/** What a browser says when a page of this door opens a channel. */
export function channelHeaders(port: number, entry: Entry): Record<string, string> {
  return { cookie: entry.cookie, origin: `http://127.0.0.1:${port}` };
}

/** Screens of a few bytes. */
export const testScreens: StaticFiles = {
  page: [
    '<!doctype html><html><head><title>Test</title>',
    '<style nonce="CHAMBERSIDE_NONCE">p{color:red}</style>',
    '<script type="module" src="/assets/app.js"></script></head><body></body></html>',
  ].join(''),
  files: new Map([
    ['/assets/app.js', { contentType: 'text/javascript; charset=utf-8', bytes: Buffer.from('export {};\n') }],
  ]),
};

export const noScreens: StaticFiles = readStaticFiles('/nowhere/at/all');
