import type { WebSocket } from 'ws';
import { helloSchema, type WindowDisplay } from '../../bridge/hello.ts';
import { closeCodes, nextWindowNumber, type DoorLimits } from './door-limits.ts';
import type { RpcService } from './rpc.ts';
import { openSampleConversation } from './samples.ts';
import type { ServedHost } from './served-host.ts';

export const channelKinds = ['rpc', 'samples'] as const;
export type ChannelKind = (typeof channelKinds)[number];

/** All channels of one browser door. */
export interface Channels {
  /**
   * Takes over a socket that has passed the door: its first message must be the hello.
   * @param admitted whether the secret belongs to the session that the socket came with.
   */
  accept(kind: ChannelKind, socket: WebSocket, admitted: (secret: string) => boolean): void;
  readonly windows: number;
  /** Tells every window that the host goes away. */
  close(): void;
  /** Ends what has not taken its leave. */
  terminate(): void;
}

interface Conversation {
  receive(text: string): void;
  close(): void;
}

export function createChannels(
  host: ServedHost,
  rpc: RpcService,
  limits: DoorLimits,
  onDefect: (error: unknown, where: string) => void,
): Channels {
  const open = new Map<ChannelKind, Set<WebSocket>>(channelKinds.map((kind) => [kind, new Set()]));
  const strangers = new Set<WebSocket>();
  const count = (kind: ChannelKind): number => open.get(kind)?.size ?? 0;
  // A window that comes back may have its old channel of samples for a moment longer.
  const most = { rpc: limits.mostWindows, samples: 2 * limits.mostWindows };

  const converse = (kind: ChannelKind, socket: WebSocket, display: WindowDisplay): Conversation => {
    const refuse = (reason: string): void => socket.close(closeCodes.badMessage, reason);
    if (kind === 'samples') {
      const wire = {
        send: (frame: Uint8Array<ArrayBuffer>) => socket.send(frame),
        waitingBytes: () => socket.bufferedAmount,
        refuse,
      };
      return openSampleConversation(host, wire, onDefect);
    }
    const window = { window: nextWindowNumber(), display };
    const send = (text: string): Promise<void> => new Promise((resolve) => socket.send(text, () => resolve()));
    void send(JSON.stringify({ message: 'welcome' }));
    const conversation = rpc.converse({ send, taken: questionsTo(socket), refuse }, window);
    host.windowOpened(window);
    return {
      receive: (text) => conversation.receive(text),
      close() {
        conversation.close();
        host.windowClosed(window);
      },
    };
  };

  const all = (): WebSocket[] => [...strangers, ...[...open.values()].flatMap((sockets) => [...sockets])];

  return {
    accept(kind, socket, admitted) {
      let conversation: Conversation | null = null;
      if (strangers.size >= limits.mostStrangers) return socket.close(closeCodes.tooMany, 'too many channels at once');
      strangers.add(socket);
      const impatience = setTimeout(() => socket.close(closeCodes.helloLate, 'no hello'), limits.helloMilliseconds);
      const stopWatch = watchLife(socket, limits);

      const greet = (text: string): void => {
        const hello = helloSchema.safeParse(parsed(text));
        if (!hello.success) return socket.close(closeCodes.badMessage, 'the first message must be the hello');
        if (!admitted(hello.data.secret)) return socket.close(closeCodes.wrongSecret, 'not a window of this host');
        if (count(kind) >= most[kind]) return socket.close(closeCodes.tooMany, 'too many windows');
        clearTimeout(impatience);
        strangers.delete(socket);
        open.get(kind)?.add(socket);
        conversation = converse(kind, socket, hello.data.display);
      };

      socket.on('message', (data, isBinary) => {
        // After a close has been asked for, what still arrives is nobody's.
        if (socket.readyState !== socket.OPEN) return;
        if (isBinary || !Buffer.isBuffer(data)) return socket.close(closeCodes.badMessage, 'text messages only');
        const text = data.toString('utf8');
        if (conversation === null) greet(text);
        else conversation.receive(text);
      });
      // A broken or oversized frame: the library closes the socket after it, and `close` does the rest.
      socket.on('error', () => undefined);
      socket.on('close', () => {
        clearTimeout(impatience);
        stopWatch();
        strangers.delete(socket);
        open.get(kind)?.delete(socket);
        conversation?.close();
        conversation = null;
      });
    },
    get windows() {
      return count('rpc');
    },
    close() {
      for (const socket of all()) socket.close(closeCodes.goingAway, 'the host ends');
    },
    terminate() {
      for (const socket of all()) socket.terminate();
    },
  };
}

/**
 * Asks the other end a question behind everything sent so far. The answer comes from where the other end reads, so it
 * stays out while that does not read.
 * @returns what gives a promise that settles with the answer, or when the other end is gone.
 */
function questionsTo(socket: WebSocket): () => Promise<void> {
  let asked = 0;
  const open = new Map<number, () => void>();
  const settle = (upTo: number): void => {
    for (const [question, resolve] of open) {
      if (question > upTo) continue;
      open.delete(question);
      resolve();
    }
  };
  socket.on('pong', (data: Buffer) => settle(Number(data.toString())));
  socket.on('close', () => settle(Infinity));
  return () =>
    new Promise((resolve) => {
      if (socket.readyState !== socket.OPEN) return resolve();
      asked += 1;
      open.set(asked, resolve);
      socket.ping(String(asked));
    });
}

/** Ends a socket whose other end shows no sign of life any more. @returns a function that stops watching. */
function watchLife(socket: WebSocket, limits: DoorLimits): () => void {
  let heardAt = performance.now();
  let askedAt = heardAt;
  const heard = (): void => {
    heardAt = performance.now();
  };
  socket.on('message', heard);
  socket.on('pong', heard);
  const timer = setInterval(() => {
    const now = performance.now();
    // This machine slept, or the host stood still: the other end could not be heard and gets its time anew.
    if (now - askedAt > 2 * limits.askMilliseconds) heardAt = now;
    askedAt = now;
    if (now - heardAt > limits.silentMilliseconds) socket.terminate();
    else if (socket.readyState === socket.OPEN) socket.ping();
  }, limits.askMilliseconds);
  return () => clearInterval(timer);
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
