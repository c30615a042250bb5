import { RPCHandler } from '@orpc/server/websocket';
import { ChambersideError } from '../../model/error-code.ts';
import { createRouter, type CallContext } from './router.ts';
import { refusalOf } from './refusal.ts';
import type { AskingWindow, ServedHost } from './served-host.ts';

/** The wire of one window's calls, whatever the door: whole text messages in both directions. */
export interface RpcWire {
  /** Settles when the message has left the host, or can no longer. Never rejects. */
  send(text: string): Promise<void>;
  /** Settles when the window has taken everything sent so far, or has gone. Never rejects. */
  taken(): Promise<void>;
  /** The window does not keep to the protocol: the door ends the conversation. `reason` is at most 100 characters. */
  refuse(reason: string): void;
}

/** One window's calls. */
export interface RpcConversation {
  receive(text: string): void;
  /** The window has gone: every call under way is cancelled. */
  close(): void;
}

export interface RpcService {
  converse(wire: RpcWire, window: AskingWindow): RpcConversation;
}

/** All that the subject's display asks for. Of the commands it has the stop alone: that is the procedure's to see. */
const subjectAsks: readonly string[] = ['watch', 'clock', 'trial.command'];

function mayAsk({ display }: AskingWindow, procedure: string): boolean {
  return display !== 'subject' || subjectAsks.includes(procedure);
}

function onlyLooks(procedure: string): ChambersideError {
  const what = "the subject's display can only stop the trial";
  return new ChambersideError('action-refused', what, procedure, 'Do it in a window of the operator.');
}

/** Calls that a window may have under way at once; a window needs a handful. */
export const mostCallsAtOnce = 100;

/**
 * The contract, ready to be spoken over any wire.
 * @param onDefect told of errors that are no refusals, with the procedure, `trial.prepare`.
 */
export function createRpcService(host: ServedHost, onDefect: (error: unknown, where: string) => void): RpcService {
  const handler = new RPCHandler(createRouter(host, onDefect), {
    clientInterceptors: [
      async ({ next, path, context }) => {
        try {
          if (!mayAsk(context.window, path.join('.'))) throw onlyLooks(path.join('.'));
          return await next();
        } catch (error) {
          throw refusalOf(error, path.join('.'), onDefect);
        }
      },
    ],
  });
  return {
    converse(wire, window) {
      const gone = new AbortController();
      const context: CallContext = { window, taken: () => wire.taken(), gone: gone.signal };
      const socket = {
        addEventListener: () => undefined,
        send: (message: unknown) =>
          typeof message === 'string' ? wire.send(message) : Promise.reject(new TypeError('the contract is text')),
      };
      let underWay = 0;
      const end = (): void => {
        if (gone.signal.aborted) return;
        gone.abort();
        handler.close(socket);
      };
      const refuse = (reason: string): void => {
        if (gone.signal.aborted) return;
        end();
        wire.refuse(reason);
      };
      return {
        receive(text) {
          if (gone.signal.aborted) return;
          if (!looksLikeMessage(text)) return refuse('not a message of this protocol');
          if (underWay >= mostCallsAtOnce) return refuse('too many calls at once');
          underWay += 1;
          handler
            .message(socket, text, { context })
            .catch((error: unknown) => {
              // What comes here is neither the procedure's nor the validation's: the message had no meaning.
              if (!gone.signal.aborted) onDefect(error, 'message');
              refuse('a message without meaning');
            })
            .finally(() => {
              underWay -= 1;
            });
        },
        close: end,
      };
    },
  };
}

/** Shape of the library's messages as far as a wrong one would make it fail: an object with a text id. */
function looksLikeMessage(text: string): boolean {
  try {
    const value: unknown = JSON.parse(text);
    if (typeof value !== 'object' || value === null) return false;
    const { i: id, t: kind, p: payload } = value as { i?: unknown; t?: unknown; p?: unknown };
    if (typeof id !== 'string' || id.length > 40) return false;
    if (kind === 4) return true;
    if (typeof payload !== 'object' || payload === null) return false;
    const { u: url, h: headers } = payload as { u?: unknown; h?: unknown };
    const plain = headers === undefined || (typeof headers === 'object' && headers !== null);
    return kind === undefined && typeof url === 'string' && url.startsWith('/') && url.length < 200 && plain;
  } catch {
    return false;
  }
}
