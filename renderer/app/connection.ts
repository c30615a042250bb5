import { createORPCClient, isDefinedError } from '@orpc/client';
import { RPCLink } from '@orpc/client/websocket';
import type { ContractRouterClient } from '@orpc/contract';
import { createStore, type StoreApi } from 'zustand/vanilla';
import type { Contract } from '../../src/bridge/contract.ts';
import type { WindowDisplay } from '../../src/bridge/hello.ts';
import type { Failure, Snapshot } from '../../src/bridge/snapshot.ts';
import { appWords } from '../words/app.ts';
import type { Outcome } from '../ui/use-perform.ts';
import { createClockOffset, type ClockOffset } from './clock-offset.ts';
import { createSampleChannel, type SampleChannel } from './sample-channel.ts';
import { hostGoneMilliseconds, retryAfter } from './retry.ts';
import type { SignOfLife } from './watchdog.ts';

export type Client = ContractRouterClient<Contract>;

export interface ConnectionState {
  readonly snapshot: Snapshot | null;
  /**
   * `lost`: the host has been silent for longer than it may. `gone`: nothing has listened where it was for so long that
   * it must have ended. `refused`: this window's secret is not known there.
   */
  readonly host: 'connecting' | 'here' | 'lost' | 'gone' | 'refused';
}

/** A window's connection to its host, for as long as the page stands. It comes back by itself. */
export interface Connection {
  readonly state: StoreApi<ConnectionState>;
  readonly samples: SampleChannel;
  /** Window clock minus the host's machine clock, ms; null while it is not known. */
  readonly offsetMilliseconds: () => number | null;
  /** Asks the host for something; a lost connection is a refusal like any other. */
  ask<Value>(call: (client: Client) => Promise<Value>): Promise<Outcome<Value>>;
}

const refusedCode = 4401;
/** Within this, messages that were waiting have been read, ms. Short of one heartbeat. */
const waitingMilliseconds = 100;
/** How often the host's clock is asked for, ms, and how many times at once when the connection is new. */
const clockMilliseconds = 10_000;
const clockCallsAtFirst = 5;

/** The secret that the door wrote into this page; empty when it did not come from a door. */
export function windowSecret(): string {
  return document.querySelector<HTMLMetaElement>('meta[name="chamberside-window"]')?.content ?? '';
}

/** @param base address of the door, `ws://127.0.0.1:PORT`. @param display whose eyes this window is for. */
export function connect(secret: string, base: string, display: WindowDisplay = 'operator'): Connection {
  const state = createStore<ConnectionState>(() => ({ snapshot: null, host: 'connecting' }));
  const watchdog = new Worker(new URL('./watchdog-worker.ts', import.meta.url), { type: 'module' });
  let heardAt = Number.NEGATIVE_INFINITY;
  const heard = (sign: SignOfLife = 'alive'): void => {
    heardAt = performance.now();
    watchdog.postMessage(sign);
  };
  // Heartbeats are what counts: an answer on the other channel does not make up for samples that do not come.
  const samples = createSampleChannel(heard);
  let client: Client | null = null;
  // A host that was started again has another clock.
  let offset = createClockOffset();

  watchdog.addEventListener('message', ({ data }) => {
    const say = (host: 'lost' | 'here'): void => {
      const known = state.getState().host;
      if (known !== 'refused' && !(known === 'gone' && host === 'lost')) state.setState({ host });
    };
    if (data === 'back') {
      say('here');
      return;
    }
    // A window that was busy itself finds the host's messages waiting beside this one: it reads them first.
    const saidAt = performance.now();
    setTimeout(() => {
      if (client === null || heardAt < saidAt - waitingMilliseconds) say('lost');
    }, waitingMilliseconds);
  });

  const refused = (): void => {
    state.setState({ host: 'refused' });
  };

  const keepOpen = (path: string, onOpen: (socket: WebSocket) => void, onClose: () => void): void => {
    let attempt = 0;
    let refusedSince: number | null = null;
    const open = (): void => {
      let opened = false;
      const socket = new WebSocket(`${base}${path}`);
      socket.binaryType = 'arraybuffer';
      socket.addEventListener('open', () => {
        opened = true;
        refusedSince = null;
        socket.send(JSON.stringify({ message: 'hello', secret, display }));
        onOpen(socket);
      });
      socket.addEventListener('message', () => {
        attempt = 0;
      });
      socket.addEventListener('close', ({ code }) => {
        onClose();
        if (code === refusedCode) {
          refused();
          return;
        }
        const now = performance.now();
        if (!opened) refusedSince ??= now;
        const refusedFor = refusedSince === null ? 0 : now - refusedSince;
        if (refusedFor >= hostGoneMilliseconds && state.getState().host !== 'refused') state.setState({ host: 'gone' });
        setTimeout(open, retryAfter(attempt, refusedFor));
        attempt += 1;
      });
    };
    open();
  };

  const control = (socket: WebSocket): void => {
    const welcome = ({ data }: MessageEvent): void => {
      if (typeof data !== 'string' || !data.includes('welcome')) return;
      socket.removeEventListener('message', welcome);
      const opened: Client = createORPCClient(new RPCLink({ websocket: socket }));
      client = opened;
      heard('control-open');
      offset = createClockOffset();
      void askClock(opened, offset, clockCallsAtFirst);
      // One that was never known is not lost, and the watchdog has nothing to take back.
      if (['connecting', 'gone'].includes(state.getState().host)) state.setState({ host: 'here' });
      // A channel that brings no snapshots any more shows an old one as if it were true: another has to be opened.
      void follow(opened, (snapshot) => state.setState({ snapshot })).then(() => socket.close());
    };
    socket.addEventListener('message', welcome);
  };

  keepOpen('/rpc', control, () => {
    client = null;
    watchdog.postMessage('control-closed' satisfies SignOfLife);
  });
  keepOpen(
    '/samples',
    (socket) => {
      socket.addEventListener('message', ({ data }) => {
        if (data instanceof ArrayBuffer) samples.receive(new Uint8Array(data), performance.now());
      });
      samples.opened((message) => {
        if (socket.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message));
      });
    },
    () => samples.closed(),
  );
  returnCredit(samples);
  setInterval(() => {
    if (client !== null) void askClock(client, offset, 1);
  }, clockMilliseconds);

  return {
    state,
    samples,
    offsetMilliseconds: () => offset.milliseconds,
    async ask(call) {
      if (client === null) return { done: false, failure: appWords.noContact };
      try {
        return { done: true, value: await call(client) };
      } catch (error) {
        return { done: false, failure: failureOf(error) };
      }
    },
  };
}

/** Until the connection goes: whoever opens the next one follows that. */
async function follow(client: Client, take: (snapshot: Snapshot) => void): Promise<void> {
  try {
    for await (const snapshot of await client.watch({})) take(snapshot);
  } catch {
    // The socket's own close says so, and opens the next one.
  }
}

/** A connection that goes meanwhile leaves the estimate as it is. */
async function askClock(client: Client, offset: ClockOffset, calls: number): Promise<void> {
  try {
    for (let call = 0; call < calls; call += 1) {
      const asked = performance.now();
      const { machineMilliseconds } = await client.clock({});
      offset.take(asked, performance.now(), machineMilliseconds);
    }
  } catch {
    // The socket's own close says so.
  }
}

/** With every picture, and in a hidden window, which draws none, from time to time. */
function returnCredit(samples: SampleChannel): void {
  const drawn = (): void => {
    samples.giveCredit();
    requestAnimationFrame(drawn);
  };
  requestAnimationFrame(drawn);
  setInterval(() => samples.giveCredit(), 500);
}

function failureOf(error: unknown): Failure {
  if (error instanceof Error && isDefinedError(error)) {
    const { data } = error as unknown as { data: Failure };
    return data;
  }
  return appWords.noContact;
}
