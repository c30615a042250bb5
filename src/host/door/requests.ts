import { randomBytes } from 'node:crypto';
import type { IncomingMessage, ServerResponse } from 'node:http';
import type { Admissions } from './admissions.ts';
import { channelKinds } from './channels.ts';
import { commonHeaders, pagePolicy, plainPage, plainPolicy, unknownWindowPath, windowPage } from './page.ts';
import type { StaticFiles } from './static-files.ts';

/** What answering needs to know of its door. */
export interface DoorState {
  /** `127.0.0.1:PORT`: the only host that is answered for. */
  readonly authority: string;
  readonly port: number;
  readonly admissions: Admissions;
  readonly files: StaticFiles;
}

const askForAddress = [
  'This window does not belong to the host that runs here, or its address was used already.',
  'Each address lets one window in, once.',
  'Go to the terminal in which Chamberside runs and open the newest address that it shows, or start it again.',
];

/** Addresses of places in the program, which the page itself leads to: no dots, so no files. */
const placePath = /^\/(?:[a-zA-Z0-9_~:%-]+\/?)*$/;

/** Cookies do not tell ports apart, so the name does. */
function cookieName(port: number): string {
  return `chamberside-${port}`;
}

/** The session that the browser says it has. */
export function sessionIn(request: IncomingMessage, port: number): string | null {
  const name = `${cookieName(port)}=`;
  const found = (request.headers.cookie ?? '').split(';').find((each) => each.trim().startsWith(name));
  return found === undefined ? null : found.trim().slice(name.length);
}

/** Answers one request. Never throws. */
export function answerRequest(door: DoorState, request: IncomingMessage, response: ServerResponse): void {
  const { admissions, authority, files } = door;
  const answer = (status: number, headers: Record<string, string>, body: string | Buffer): void => {
    response.writeHead(status, {
      ...commonHeaders,
      ...headers,
      ...(body.length > 0 ? { 'Content-Length': String(Buffer.byteLength(body)) } : {}),
    });
    response.end(request.method === 'HEAD' ? undefined : body);
  };
  const plain = (status: number, title: string, words: readonly string[], more: Record<string, string> = {}): void => {
    const nonce = newNonce();
    const type = { 'Content-Type': 'text/html; charset=utf-8', 'Content-Security-Policy': plainPolicy(nonce) };
    answer(status, { ...type, ...more }, plainPage(title, words, nonce));
  };
  const forbidden = (): void => plain(403, 'This window is not known', askForAddress);

  if (request.method !== 'GET' && request.method !== 'HEAD') {
    return plain(405, 'Only reading is possible here', [], { Allow: 'GET, HEAD', Connection: 'close' });
  }
  if (!asksForUs(request, authority)) return forbidden();
  const target = targetOf(request, authority);
  if (target === null) return plain(400, 'This address has no meaning', []);
  // Browsers ask for it unasked, also beside a page that is refused.
  if (target.pathname === '/favicon.ico') return answer(204, {}, '');
  if (comesFromElsewhere(request)) return forbidden();
  if (foretelling(request)) return answer(503, {}, '');

  const session = sessionIn(request, door.port);
  const token = target.pathname === '/' ? target.searchParams.get('token') : null;
  if (token !== null) {
    // Somebody who only asks what would be there must not use the token up.
    const redeemed = request.method === 'HEAD' ? null : admissions.redeem(token, session);
    if (redeemed === null) return forbidden();
    const cookie = `${cookieName(door.port)}=${redeemed}; Path=/; HttpOnly; SameSite=Strict`;
    if (request.headers['sec-fetch-site'] !== 'cross-site') {
      return answer(303, { Location: '/', 'Set-Cookie': cookie }, '');
    }
    // A strict cookie does not travel along a redirection that began elsewhere; it does when the page itself goes on.
    const nonce = newNonce();
    const headers = {
      'Content-Type': 'text/html; charset=utf-8',
      'Content-Security-Policy': plainPolicy(nonce),
      'Set-Cookie': cookie,
    };
    return answer(200, headers, plainPage('Chamberside', ['One moment …'], nonce, '/'));
  }
  if (!admissions.isSession(session)) return forbidden();
  if (target.pathname === unknownWindowPath) return forbidden();

  const file = files.files.get(target.pathname);
  if (file !== undefined) return answer(200, { 'Content-Type': file.contentType }, file.bytes);
  if (!placePath.test(target.pathname)) return plain(404, 'There is nothing here', []);
  if (files.page === null) {
    const words = [
      'The host runs, but its screens were not built.',
      'Run npm ci in the program’s folder, then start again.',
    ];
    return plain(503, 'No screens', words);
  }
  const nonce = newNonce();
  const secret = request.method === 'HEAD' ? null : admissions.takeSecret(session);
  answer(
    200,
    { 'Content-Type': 'text/html; charset=utf-8', 'Content-Security-Policy': pagePolicy(nonce, authority) },
    windowPage(files.page, nonce, secret),
  );
}

/** Why a request for a channel is refused, as a status line without version; null when it may go on. */
export function upgradeRefusal(door: DoorState, request: IncomingMessage): string | null {
  if (!channelKinds.some((kind) => request.url === `/${kind}`)) return '404 Not Found';
  if (request.method !== 'GET') return '405 Method Not Allowed';
  // A browser always names its origin here; whoever does not is no window.
  if (!asksForUs(request, door.authority) || request.headers.origin === undefined) return '403 Forbidden';
  const session = sessionIn(request, door.port);
  if (!door.admissions.isSession(session)) return '403 Forbidden';
  if (door.admissions.mustWait(session)) return '429 Too Many Requests';
  return null;
}

/** Host and origin name this very door: a name that somebody points at loopback is another host. */
function asksForUs(request: IncomingMessage, authority: string): boolean {
  const { host, origin } = request.headers;
  return host === authority && (origin === undefined || origin === `http://${authority}`);
}

/** A page of another origin fetches or frames something; going there by a link is not meant. */
function comesFromElsewhere(request: IncomingMessage): boolean {
  const site = request.headers['sec-fetch-site'];
  if (site === undefined || site === 'same-origin' || site === 'none') return false;
  return request.headers['sec-fetch-mode'] !== 'navigate' || request.headers['sec-fetch-dest'] !== 'document';
}

/** The browser fetches ahead what nobody has asked for yet. */
function foretelling(request: IncomingMessage): boolean {
  const purpose = request.headers['sec-purpose'] ?? request.headers['purpose'];
  return typeof purpose === 'string' && purpose.includes('prefetch');
}

function targetOf(request: IncomingMessage, authority: string): URL | null {
  const url = request.url ?? '';
  // Files come from a list, so nothing could be reached this way; whoever tries it is told so all the same.
  if (!url.startsWith('/') || url.startsWith('//') || /\.\.|%2e|%2f|%5c|\\/i.test(url)) return null;
  return URL.canParse(url, `http://${authority}`) ? new URL(url, `http://${authority}`) : null;
}

function newNonce(): string {
  return randomBytes(16).toString('base64url');
}
