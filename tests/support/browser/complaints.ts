import type { BrowserContext, ConsoleMessage } from 'playwright';
import { afterAll, afterEach, expect } from 'vitest';

/** What a test may provoke on purpose, by name, with why it is no defect. Everything else fails the test. */
const provoked = {
  /** While the host is away, every attempt to find it again is refused, and the browser says so. */
  'host-away': /WebSocket connection|ERR_CONNECTION_REFUSED|ERR_CONNECTION_RESET/,
  /** A window with the secret of another is refused by the door. */
  'window-refused': /WebSocket connection|403/,
} as const;
type Provoked = keyof typeof provoked;

export interface Complaints {
  /** Listens to every page of a context, those that are still to come included. Once is enough. */
  listen(context: BrowserContext): Promise<void>;
  /** A complaint of something else than a page, such as the door. */
  note(complaint: string): void;
  /** The test under way provokes this. */
  provokes(name: Provoked): void;
}

/**
 * Collects what browsers complain of: console errors and warnings, uncaught errors, violations of the policy. After
 * each test, however it went, there must be none but those that it said it provokes. To be called beside the tests.
 */
export function watchComplaints(): Complaints {
  const complaints: string[] = [];
  const heard = new WeakSet<BrowserContext>();
  const expected = new Set<Provoked>();
  const judge = (): void => {
    const found = complaints.splice(0);
    const names = [...expected];
    expected.clear();
    judgeComplaints(found, names);
  };
  afterEach(judge);
  // What came too late for the last test.
  afterAll(judge);
  return {
    async listen(context) {
      if (heard.has(context)) return;
      heard.add(context);
      await collectComplaints(context, (complaint) => complaints.push(complaint));
    },
    note: (complaint) => void complaints.push(complaint),
    provokes: (name) => void expected.add(name),
  };
}

/** Fails when there is a complaint that none of the named kinds explains. */
export function judgeComplaints(complaints: readonly string[], expected: readonly Provoked[]): void {
  const patterns = expected.map((name) => provoked[name]);
  const unexpected = complaints.filter((complaint) => !patterns.some((pattern) => pattern.test(complaint)));
  expect(unexpected, 'the browser complains').toEqual([]);
}

/** Hands on every complaint of a context's pages. */
export async function collectComplaints(context: BrowserContext, onComplaint: (text: string) => void): Promise<void> {
  context.on('console', (message: ConsoleMessage) => {
    if (message.type() === 'error' || message.type() === 'warning') onComplaint(message.text());
  });
  context.on('weberror', (error) => onComplaint(error.error().message));
  // The browser prints violations too; that is its choice of words, and this is ours.
  await context.addInitScript({
    content: `document.addEventListener('securitypolicyviolation', (found) => {
      console.error('Violation of the policy: ' + found.violatedDirective + ' ' + found.blockedURI +
        ' at ' + found.sourceFile + ':' + found.lineNumber + ':' + found.columnNumber);
    });`,
  });
}
