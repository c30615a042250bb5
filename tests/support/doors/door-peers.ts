import { createORPCClient } from '@orpc/client';
import { RPCLink as PortLink } from '@orpc/client/message-port';
import { RPCLink as SocketLink } from '@orpc/client/websocket';
import type { ContractRouterClient } from '@orpc/contract';
import { MessageChannel, type MessagePort } from 'node:worker_threads';
import type { Contract } from '../../../src/bridge/contract.ts';
import { decodeFrame, type SampleFrame } from '../../../src/bridge/frame.ts';
import type { WindowDisplay } from '../../../src/bridge/hello.ts';
import { takingPort } from '../../../src/bridge/port-flow.ts';
import { openBrowserDoor } from '../../../src/host/door/browser-door.ts';
import { openMessagePortDoor, type HostPort } from '../../../src/host/door/message-port-door.ts';
import type { ServedHost } from '../../../src/host/door/served-host.ts';
import { channelHeaders, enter, openChannel, testScreens } from './browser-peer.ts';

/** A window at whichever door. */
export interface TestWindow {
  readonly client: ContractRouterClient<Contract>;
  /** Sends one message of the sample channel, as it stands. */
  say(message: unknown): void;
  /** Frames in the order of arrival. */
  readonly frames: readonly SampleFrame[];
  /** Settles when the door has ended the sample channel. */
  readonly samplesEnded: Promise<void>;
  /** Settles when the door has ended the channel of calls. */
  readonly callsEnded: Promise<void>;
  /** Sends text over the channel of calls that no client would send. */
  garble(text: string): void;
  /** Stops to take anything from the channel of calls, as a window that hangs, until `wake`. */
  sleep(): void;
  wake(): void;
  leave(): void;
}

/** A door under test. */
export interface DoorPeer {
  /** @param display for whom the window says it is; left out, it says nothing. */
  enter(display?: WindowDisplay): Promise<TestWindow>;
  readonly defects: readonly string[];
  close(): Promise<void>;
}

export type OpenDoor = (host: ServedHost) => Promise<DoorPeer>;

export const openBrowserPeer: OpenDoor = async (host) => {
  const defects: string[] = [];
  const note = (error: unknown, where: string): void => void defects.push(`${where}: ${String(error)}`);
  const door = await openBrowserDoor(host, { port: 0, files: testScreens, onDefect: note });
  return {
    defects,
    close: () => door.close(),
    async enter(display) {
      const entry = await enter(door.issueAddress());
      const headers = channelHeaders(door.port, entry);
      const hello = JSON.stringify({ message: 'hello', secret: entry.secret, display });
      const calls = openChannel(door.port, '/rpc', headers);
      const samples = openChannel(door.port, '/samples', headers);
      await Promise.all([calls.opened, samples.opened]);
      calls.socket.send(hello);
      samples.socket.send(hello);
      await calls.next();
      const frames: SampleFrame[] = [];
      samples.socket.on('message', (data: Buffer) => keep(frames, data));
      return {
        client: createORPCClient(new SocketLink({ websocket: calls.socket as never })),
        say: (message) => samples.socket.send(JSON.stringify(message)),
        frames,
        samplesEnded: samples.ended.then(() => undefined),
        callsEnded: calls.ended.then(() => undefined),
        garble: (text) => calls.socket.send(text),
        sleep: () => calls.socket.pause(),
        wake: () => calls.socket.resume(),
        leave() {
          calls.socket.close();
          samples.socket.close();
        },
      };
    },
  };
};

export const openMessagePortPeer: OpenDoor = async (host) => {
  const defects: string[] = [];
  const door = openMessagePortDoor(host, (error, where) => void defects.push(`${where}: ${String(error)}`));
  return {
    defects,
    close: async () => door.close(),
    async enter() {
      const calls = new MessageChannel();
      const samples = new MessageChannel();
      door.admit({ rpc: lookAlike(calls.port1), samples: lookAlike(samples.port1) });
      const drowsy = drowsyPort(calls.port2);
      const port = takingPort(drowsy);
      const samplePort = takingPort(drowsyPort(samples.port2));
      const frames: SampleFrame[] = [];
      samplePort.addEventListener('message', ({ data }) => keep(frames, data));
      calls.port2.start();
      samples.port2.start();
      const ended = (each: MessagePort): Promise<void> => new Promise((resolve) => each.once('close', () => resolve()));
      return {
        client: createORPCClient(new PortLink({ port })),
        say: (message) => samplePort.postMessage(JSON.stringify(message)),
        frames,
        samplesEnded: ended(samples.port2),
        callsEnded: ended(calls.port2),
        garble: (text) => calls.port2.postMessage(text),
        sleep: drowsy.sleep,
        wake: drowsy.wake,
        leave() {
          calls.port2.close();
          samples.port2.close();
        },
      };
    },
  };
};

/** A port with the shape of Electron's: the message stands in the event's `data`. */
function lookAlike(port: MessagePort): HostPort {
  return {
    on(event: 'message' | 'close', listener: (event: { readonly data: unknown }) => void) {
      if (event === 'message') port.on('message', (data: unknown) => listener({ data }));
      else port.on('close', () => listener({ data: null }));
    },
    start: () => port.start(),
    postMessage: (message) => port.postMessage(message),
    close: () => port.close(),
  };
}

/** A window's end that can be made to take nothing for a while. */
function drowsyPort(port: MessagePort) {
  let asleep = false;
  const missed: (() => void)[] = [];
  return {
    addEventListener(type: 'message' | 'close', listener: (event: { readonly data: unknown }) => void) {
      port.on(type, (data: unknown) => {
        const tell = (): void => listener({ data });
        if (asleep) missed.push(tell);
        else tell();
      });
    },
    postMessage: (message: unknown) => port.postMessage(message),
    sleep: () => void (asleep = true),
    wake() {
      asleep = false;
      for (const tell of missed.splice(0)) tell();
    },
  };
}

function keep(frames: SampleFrame[], data: unknown): void {
  if (!(data instanceof Uint8Array)) throw new TypeError('a frame is bytes');
  const frame = decodeFrame(data);
  if (frame === null) throw new TypeError('these bytes are no frame');
  frames.push(frame);
}
