import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';

/**
 * Who may come in, for one browser door.
 *
 * A token stands in an address and is good once. It makes a session, which the browser keeps as a cookie. Cookies go
 * to every port of the same machine, so the session alone opens nothing: a token also makes one window secret, which
 * the next page of the session carries, and which the page keeps where no other port can read it. Only session and
 * secret together open a channel.
 */
export interface Admissions {
  /** A new token. Those before stay good until used; the oldest of too many goes. */
  issueToken(): string;
  /**
   * Uses up a token.
   * @param session what the browser says it has; kept when it is one, so that windows of one browser share it.
   * @returns the session to go on with; null when the token is none, or was used.
   */
  redeem(token: string, session: string | null): string | null;
  isSession(session: string | null): session is string;
  /** The secret for the page that follows a token: once for each token; null otherwise. */
  takeSecret(session: string): string | null;
  mayOpen(session: string, secret: string): boolean;
  /** Counts a wrong secret. */
  noteWrongSecret(session: string): void;
  /** Whether this session has said so many wrong secrets of late that it has to wait. */
  mustWait(session: string): boolean;
}

export interface AdmissionLimits {
  readonly mostTokens: number;
  readonly mostSessions: number;
  readonly mostSecrets: number;
  /** How long the page may take that follows a token, ms. */
  readonly pageMilliseconds: number;
  /** Wrong secrets of a session within the time before it has to wait for the end of that time. */
  readonly mostWrongSecrets: number;
  readonly wrongSecretMilliseconds: number;
}

export const admissionLimits: AdmissionLimits = {
  mostTokens: 8,
  mostSessions: 16,
  mostSecrets: 64,
  pageMilliseconds: 30_000,
  mostWrongSecrets: 10,
  wrongSecretMilliseconds: 60_000,
};

interface Session {
  readonly name: string;
  readonly secrets: string[];
  /** Machine times until which a page may still fetch its secret, ms. */
  readonly pages: number[];
  wrong: number[];
}

/** 256 bits, in letters that need no escaping in addresses, cookies and HTML. */
function drawn(): string {
  return randomBytes(32).toString('base64url');
}

/** Digests are of one length, so that not even the length of the right one shows. */
function same(left: string, right: string): boolean {
  const digest = (text: string): Buffer => createHash('sha256').update(text).digest();
  return timingSafeEqual(digest(left), digest(right));
}

/** Position of the one that is the same; takes as long for a match as for none. */
function positionOf(known: readonly string[], said: string): number {
  let found = -1;
  known.forEach((each, index) => {
    if (same(each, said)) found = index;
  });
  return found;
}

/** @param now machine clock, ms. */
export function createAdmissions(now: () => number, limits: AdmissionLimits = admissionLimits): Admissions {
  const tokens: string[] = [];
  const sessions: Session[] = [];

  const sessionOf = (said: string | null): Session | null => {
    const position = positionOf(
      sessions.map((each) => each.name),
      said ?? '',
    );
    return sessions[position] ?? null;
  };
  const recentlyWrong = (session: Session): number[] => {
    session.wrong = session.wrong.filter((at) => now() - at < limits.wrongSecretMilliseconds);
    return session.wrong;
  };

  return {
    issueToken() {
      const token = drawn();
      tokens.push(token);
      if (tokens.length > limits.mostTokens) tokens.shift();
      return token;
    },
    redeem(token, said) {
      const position = positionOf(tokens, token);
      if (position < 0) return null;
      tokens.splice(position, 1);
      let session = sessionOf(said);
      if (session === null) {
        session = { name: drawn(), secrets: [], pages: [], wrong: [] };
        sessions.push(session);
        if (sessions.length > limits.mostSessions) sessions.shift();
      }
      session.pages.push(now() + limits.pageMilliseconds);
      return session.name;
    },
    isSession: (said): said is string => sessionOf(said) !== null,
    takeSecret(said) {
      const session = sessionOf(said);
      if (session === null) return null;
      while (session.pages.length > 0) {
        const until = session.pages.shift() ?? 0;
        if (now() > until) continue;
        const secret = drawn();
        session.secrets.push(secret);
        if (session.secrets.length > limits.mostSecrets) session.secrets.shift();
        return secret;
      }
      return null;
    },
    mayOpen(said, secret) {
      const session = sessionOf(said);
      return session !== null && positionOf(session.secrets, secret) >= 0;
    },
    noteWrongSecret(said) {
      const session = sessionOf(said);
      if (session !== null) recentlyWrong(session).push(now());
    },
    mustWait(said) {
      const session = sessionOf(said);
      return session !== null && recentlyWrong(session).length >= limits.mostWrongSecrets;
    },
  };
}
