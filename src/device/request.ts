import { ChambersideError } from '../model/error-code.ts';
import type { ErrorCode } from '../model/error-code.ts';
import { toMicroseconds } from '../model/time.ts';
import type { Cancellation } from './cancellation.ts';
import type { Cancel, Timers } from './timers.ts';
import { createTurns } from './turns.ts';
import type { Turns } from './turns.ts';

/** What a message from the instrument is to a request. */
export type Verdict<Answer> =
  | { readonly verdict: 'answer'; readonly answer: Answer }
  /** The instrument will not do it. */
  | { readonly verdict: 'refused'; readonly detail: string }
  /** An answer to this kind of request that says something else than was asked. */
  | { readonly verdict: 'unexpected'; readonly detail: string }
  | { readonly verdict: 'unrelated' };

export interface Request<Message, Answer> {
  /** What is asked, for messages: `port 3`. */
  readonly command: string;
  readonly bytes: Uint8Array;
  /** Judges a message; called only while the request is on the wire or was given up. Must not throw. */
  readonly judge: (message: Message, atMicroseconds: number) => Verdict<Answer>;
  /** From the write to the answer, s, > 0. */
  readonly timeoutSeconds: number;
  readonly cancellation?: Cancellation | undefined;
}

/** What became of a message that was offered. */
export type Reception =
  /** It settled the request on the wire. */
  | { readonly taken: 'settled' }
  /** It is the answer to a request that was given up before. */
  | { readonly taken: 'late'; readonly command: string }
  /** Nothing waits for it. */
  | { readonly taken: 'no' };

/** Requests to one instrument: one on the wire at a time, the others wait in order, and for the turn of their line. */
export interface RequestQueue<Message> {
  /** Requests on the wire and waiting. */
  readonly pendingCount: number;
  /**
   * Sends a request when its turn comes, and resolves with its answer.
   * @throws ChambersideError `request-timed-out`, `request-refused`, `answer-unexpected`, `request-cancelled`,
   *   `transport-closed`, `port-failed` when it could not be sent; instrument and command are in every text, the
   *   caller's stack is the error's cause.
   */
  ask<Answer>(request: Request<Message, Answer>): Promise<Answer>;
  /** Hands over a decoded message. */
  offer(message: Message, atMicroseconds: number): Reception;
  /** Settles everything that waits with `transport-closed`; later requests are refused with the same. */
  end(reason: string): void;
}

export interface RequestQueueOptions {
  readonly instrument: string;
  /** Label of the transport, for messages. */
  readonly label: string;
  readonly timers: Timers;
  readonly write: (bytes: Uint8Array) => void;
  /** Of a line that other conversations share; left out: the line is this queue's own. */
  readonly turns?: Turns | undefined;
  /** How long the line is left alone after a request is settled, µs, ≥ 0. Default 0. */
  readonly restMicroseconds?: number;
}

interface Waiting<Message> {
  readonly command: string;
  readonly bytes: Uint8Array;
  readonly timeoutSeconds: number;
  readonly judge: (message: Message, atMicroseconds: number) => Verdict<unknown>;
  readonly resolve: (answer: unknown) => void;
  readonly reject: (code: ErrorCode, what: string, remedy: string) => void;
  /** Takes the listener off the caller's cancellation. */
  readonly release: () => void;
}

interface GivenUp<Message> {
  readonly command: string;
  readonly judge: (message: Message, atMicroseconds: number) => Verdict<unknown>;
  /** Requests answered since: an instrument that answers others has forgotten this one. */
  answeredSince: number;
}

/** A request that was given up is remembered until this many later ones were answered … */
const rememberedAnswers = 4;
/** … and at most so many of them. */
const rememberedRequests = 8;

const checkConnection = 'Check cable, power and settings of the instrument, then ask again.';

/** A queue for one port. The owner offers it every decoded message and ends it with the connection. */
export function createRequestQueue<Message>(options: RequestQueueOptions): RequestQueue<Message> {
  const { instrument, label, timers, write, restMicroseconds = 0 } = options;
  const ownTurns = createTurns(timers);
  const turns: Turns = options.turns ?? ownTurns;
  const waiting: Waiting<Message>[] = [];
  let onWire: Waiting<Message> | undefined;
  /** Withdraws the wish for a turn, while there is one. */
  let withdrawTurn: Cancel | undefined;
  let wishesTurn = false;
  let releaseTurn: ((restMicroseconds: number) => void) | undefined;
  let cancelTimer: Cancel | undefined;
  let givenUp: GivenUp<Message>[] = [];
  let endReason: string | undefined;

  const clearWire = (): void => {
    cancelTimer?.();
    cancelTimer = undefined;
    onWire?.release();
    onWire = undefined;
    const release = releaseTurn;
    releaseTurn = undefined;
    release?.(restMicroseconds);
  };

  const giveUp = (entry: Waiting<Message>): void => {
    givenUp.push({ command: entry.command, judge: entry.judge, answeredSince: 0 });
    if (givenUp.length > rememberedRequests) givenUp.shift();
  };

  const sendNext = (): void => {
    if (onWire !== undefined || wishesTurn || waiting.length === 0) return;
    wishesTurn = true;
    withdrawTurn = turns.take((release) => {
      wishesTurn = false;
      releaseTurn = release;
      sendNow();
    });
  };

  const sendNow = (): void => {
    const entry = waiting.shift();
    if (entry === undefined) {
      // Withdrawn while it waited for its turn.
      clearWire();
      return;
    }
    // The judge is in place before the write: an answer may come while the write is still under way.
    onWire = entry;
    try {
      write(entry.bytes);
    } catch (error) {
      // An answer, or the end of the connection, may have settled it already.
      if (onWire === entry) {
        clearWire();
        const detail = error instanceof Error ? error.message : String(error);
        entry.reject('port-failed', `it could not be sent: ${detail}`, checkConnection);
      }
      sendNext();
      return;
    }
    if (onWire !== entry) return;
    cancelTimer = timers.after(toMicroseconds(entry.timeoutSeconds), () => {
      cancelTimer = undefined;
      clearWire();
      giveUp(entry);
      entry.reject('request-timed-out', `no answer within ${entry.timeoutSeconds} s`, checkConnection);
      sendNext();
    });
  };

  const settle = (entry: Waiting<Message>, verdict: Exclude<Verdict<unknown>, { verdict: 'unrelated' }>): void => {
    clearWire();
    for (const earlier of givenUp) earlier.answeredSince += 1;
    givenUp = givenUp.filter((earlier) => earlier.answeredSince < rememberedAnswers);
    if (verdict.verdict === 'answer') {
      entry.resolve(verdict.answer);
    } else if (verdict.verdict === 'refused') {
      entry.reject('request-refused', `refused: ${verdict.detail}`, 'Ask for something that the instrument can do.');
    } else {
      entry.reject('answer-unexpected', `unexpected answer: ${verdict.detail}`, checkConnection);
    }
    sendNext();
  };

  return {
    get pendingCount() {
      return waiting.length + (onWire === undefined ? 0 : 1);
    },
    ask<Answer>(request: Request<Message, Answer>): Promise<Answer> {
      const asked = new Error(`${request.command} was asked of ${instrument} here`);
      return new Promise<Answer>((resolve, reject) => {
        const refuse = (code: ErrorCode, what: string, remedy: string): void => {
          const where = `${instrument}, ${label}`;
          reject(new ChambersideError(code, `${instrument}: "${request.command}": ${what}`, where, remedy, asked));
        };
        const { cancellation } = request;
        if (endReason !== undefined) {
          refuse('transport-closed', `the connection is closed: ${endReason}`, 'Connect the instrument again.');
          return;
        }
        if (cancellation?.aborted === true) {
          refuse('request-cancelled', 'withdrawn before it was sent', 'Ask again when it is wanted.');
          return;
        }
        const withdraw = (): void => {
          if (onWire === entry) {
            clearWire();
            giveUp(entry);
            refuse('request-cancelled', 'withdrawn before its answer came', 'Ask again when it is wanted.');
            sendNext();
            return;
          }
          const index = waiting.indexOf(entry);
          if (index < 0) return;
          waiting.splice(index, 1);
          entry.release();
          refuse('request-cancelled', 'withdrawn before it was sent', 'Ask again when it is wanted.');
        };
        const entry: Waiting<Message> = {
          command: request.command,
          bytes: request.bytes,
          timeoutSeconds: request.timeoutSeconds,
          judge: request.judge,
          resolve: (answer) => {
            resolve(answer as Answer);
          },
          reject: refuse,
          release: () => cancellation?.removeEventListener('abort', withdraw),
        };
        cancellation?.addEventListener('abort', withdraw);
        waiting.push(entry);
        sendNext();
      });
    },
    offer(message, atMicroseconds) {
      const entry = onWire;
      const verdict = entry?.judge(message, atMicroseconds) ?? { verdict: 'unrelated' };
      if (entry !== undefined && verdict.verdict === 'answer') {
        settle(entry, verdict);
        return { taken: 'settled' };
      }
      // Before a message counts against the request on the wire: is it the late answer to an earlier one?
      const late = givenUp.find((earlier) => earlier.judge(message, atMicroseconds).verdict === 'answer');
      if (late !== undefined) {
        givenUp = givenUp.filter((earlier) => earlier !== late);
        return { taken: 'late', command: late.command };
      }
      if (entry !== undefined && verdict.verdict !== 'unrelated') {
        settle(entry, verdict);
        return { taken: 'settled' };
      }
      return { taken: 'no' };
    },
    end(reason) {
      if (endReason !== undefined) return;
      endReason = reason;
      if (wishesTurn) withdrawTurn?.();
      wishesTurn = true;
      const open = waiting.splice(0);
      for (const entry of open) entry.release();
      if (onWire !== undefined) open.unshift(onWire);
      clearWire();
      ownTurns.end();
      givenUp = [];
      for (const entry of open) {
        entry.reject('transport-closed', `the connection is closed: ${reason}`, 'Connect the instrument again.');
      }
    },
  };
}
