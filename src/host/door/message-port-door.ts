import { takenMessage } from '../../bridge/port-flow.ts';
import { nextWindowNumber } from './door-limits.ts';
import { createRpcService } from './rpc.ts';
import { openSampleConversation } from './samples.ts';
import type { ServedHost } from './served-host.ts';

/** The host's end of a message port, as Electron's main and utility processes have it. */
export interface HostPort {
  on(event: 'message', listener: (event: { readonly data: unknown }) => void): unknown;
  on(event: 'close', listener: () => void): unknown;
  /** Messages wait in the port until then. */
  start(): void;
  postMessage(message: unknown): void;
  close(): void;
}

/** A host's door for windows that this program has opened itself: whoever holds the port is a window. */
export interface MessagePortDoor {
  /** A window, by its two ports. It is there until its port of calls closes. */
  admit(ports: { readonly rpc: HostPort; readonly samples: HostPort }): void;
  readonly windows: number;
  /** Closes every port. */
  close(): void;
}

/** Messages of one port that the window has not answered with `taken` yet. */
interface Flow {
  post(message: string | Uint8Array): void;
  /** To be called for every message that arrives. @returns whether it was an answer. */
  answer(data: unknown): boolean;
  waitingBytes(): number;
  /** Settles when everything posted so far is taken, or the port has closed. */
  taken(): Promise<void>;
  close(): void;
}

function flowOf(port: HostPort): Flow {
  const waiting: number[] = [];
  let taken = 0;
  let posted = 0;
  let closed = false;
  let askers: { readonly at: number; readonly settle: () => void }[] = [];
  const settle = (): void => {
    const due = askers.filter((asker) => closed || asker.at <= taken);
    askers = askers.filter((asker) => !due.includes(asker));
    for (const asker of due) asker.settle();
  };
  return {
    post(message) {
      if (closed) return;
      waiting.push(message.length);
      posted += 1;
      port.postMessage(message);
    },
    answer(data) {
      if (data !== takenMessage) return false;
      if (waiting.shift() !== undefined) taken += 1;
      settle();
      return true;
    },
    waitingBytes: () => waiting.reduce((sum, length) => sum + length, 0),
    taken: () =>
      new Promise((resolve) => {
        askers.push({ at: posted, settle: resolve });
        settle();
      }),
    close() {
      closed = true;
      waiting.length = 0;
      settle();
    },
  };
}

/**
 * The same conversations as the browser door's, over message ports. A window says no secret here; one that says hello
 * all the same, because it does so at every door, gets its welcome.
 * @param onDefect told of defects, with where they showed.
 */
export function openMessagePortDoor(
  host: ServedHost,
  onDefect: (error: unknown, where: string) => void,
): MessagePortDoor {
  const service = createRpcService(host, onDefect);
  /** Closes each port that is open. */
  const open = new Map<HostPort, () => void>();
  let windows = 0;

  /** Wires one port. @returns a function that closes it from this side. */
  const serve = (port: HostPort, flow: Flow, receive: (text: string) => void, gone: () => void): (() => void) => {
    const leave = (): void => {
      if (!open.delete(port)) return;
      flow.close();
      gone();
    };
    const close = (): void => {
      leave();
      port.close();
    };
    open.set(port, close);
    let first = true;
    port.on('close', leave);
    port.on('message', ({ data }) => {
      if (!open.has(port) || flow.answer(data)) return;
      const greeting = first && isHello(data);
      first = false;
      if (greeting) return flow.post(JSON.stringify({ message: 'welcome' }));
      if (typeof data !== 'string') return close();
      receive(data);
    });
    port.start();
    return close;
  };

  return {
    admit({ rpc, samples }) {
      const window = { window: nextWindowNumber() };
      const calls = flowOf(rpc);
      const frames = flowOf(samples);
      const conversation = service.converse(
        {
          send: async (text) => calls.post(text),
          taken: () => calls.taken(),
          refuse: () => closeCalls(),
        },
        window,
      );
      const channel = openSampleConversation(
        host,
        { send: (frame) => frames.post(frame), waitingBytes: () => frames.waitingBytes(), refuse: () => closeFrames() },
        onDefect,
      );
      windows += 1;
      host.windowOpened(window);
      const closeFrames = serve(samples, frames, (text) => channel.receive(text), channel.close);
      const closeCalls = serve(
        rpc,
        calls,
        (text) => conversation.receive(text),
        () => {
          conversation.close();
          windows -= 1;
          host.windowClosed(window);
          closeFrames();
        },
      );
    },
    get windows() {
      return windows;
    },
    close() {
      for (const close of [...open.values()]) close();
    },
  };
}

function isHello(data: unknown): boolean {
  if (typeof data !== 'string') return false;
  try {
    const value: unknown = JSON.parse(data);
    return typeof value === 'object' && value !== null && (value as { message?: unknown }).message === 'hello';
  } catch {
    return false;
  }
}
