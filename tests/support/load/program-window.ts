import { onceHeard } from './once-heard.ts';
import { createORPCClient } from '@orpc/client';
import { RPCLink } from '@orpc/client/websocket';
import type { ContractRouterClient } from '@orpc/contract';
import type { Contract, Plan } from '../../../src/bridge/contract.ts';
import { decodeFrame, type SampleFrame } from '../../../src/bridge/frame.ts';
import type { SampleMessage } from '../../../src/bridge/samples.ts';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../../src/bridge/trial-snapshot.ts';
import { channelHeaders, enter, openChannel } from '../doors/browser-peer.ts';

type Client = ContractRouterClient<Contract>;
type Action = Parameters<Client['trial']['command']>[0]['action'];

/** A window without a screen at the browser door of a program that runs in a process of its own. */
export interface ProgramWindow {
  readonly client: Client;
  /** The newest one that was told. @throws Error before the first. */
  snapshot(): Snapshot;
  /** @throws Error when no trial is under way. */
  trial(): TrialSnapshot;
  /** Waits for a condition on the newest snapshot. @throws Error after the limit, with what was seen last. */
  until(what: string, condition: (snapshot: Snapshot) => boolean, seconds?: number): Promise<Snapshot>;
  subscribe(streams: readonly number[]): void;
  command(action: Action, note?: string): Promise<void>;
  /** Somebody at the rig, made when there is nobody yet. */
  stepUp(): Promise<void>;
  plan(file: string): Plan;
  /** Settles when the program has gone. */
  readonly ended: Promise<void>;
  leave(): void;
}

/**
 * @param address as the program printed it.
 * @param taken told of every frame of samples, after its credit was given back.
 */
export async function openProgramWindow(
  address: string,
  taken: (frame: SampleFrame) => void = () => undefined,
): Promise<ProgramWindow> {
  const port = Number(new URL(address).port);
  const entry = await enter(address);
  const headers = channelHeaders(port, entry);
  const hello = JSON.stringify({ message: 'hello', secret: entry.secret });
  const calls = openChannel(port, '/rpc', headers);
  const samples = openChannel(port, '/samples', headers);
  await Promise.all([calls.opened, samples.opened]);
  for (const { socket } of [calls, samples]) {
    socket.on('error', () => undefined);
    socket.send(hello);
  }
  await calls.next();
  const client: Client = createORPCClient(new RPCLink({ websocket: calls.socket as never }));
  const say = (message: SampleMessage): void => samples.socket.send(JSON.stringify(message));
  samples.socket.on('message', (data: Buffer) => {
    const frame = decodeFrame(data);
    if (frame === null) throw new TypeError('these bytes are no frame');
    if (frame.kind === 'live' || frame.kind === 'history') say({ message: 'credit', frames: 1 });
    taken(frame);
  });

  let newest: Snapshot | null = null;
  const follow = async (): Promise<void> => {
    for await (const snapshot of await client.watch({})) newest = snapshot;
  };
  const ended = Promise.race([calls.ended.then(() => undefined), follow().catch(() => undefined)]);
  const snapshot = (): Snapshot => {
    if (newest === null) throw new Error('the program has told nothing yet');
    return newest;
  };
  const trial = (): TrialSnapshot => {
    const now = snapshot().trial;
    if (now === null) throw new Error('no trial is under way');
    return now;
  };
  const until: ProgramWindow['until'] = async (what, condition, seconds = 30) => {
    const ends = Date.now() + seconds * 1000;
    for (;;) {
      if (newest !== null && condition(newest)) return newest;
      if (Date.now() > ends) {
        const seen = { rig: newest?.rig.instruments, alarms: newest?.alarms, now: newest?.trial?.now };
        throw new Error(`${what} did not come within ${seconds} s; last seen: ${JSON.stringify(seen)}`);
      }
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
  };
  await until('the first snapshot', () => true);
  return {
    client,
    snapshot,
    trial,
    until,
    subscribe: (streams) => say({ message: 'subscribe', streams: [...streams] }),
    async command(action, note = '') {
      // What was prepared is answered before the snapshot that tells of it has come.
      await until('a trial', (now) => now.trial !== null);
      const asked = { trial: trial().trial, action, note, exercise: null, windowOffsetMilliseconds: null };
      await onceHeard(() => client.trial.command(asked));
    },
    async stepUp() {
      if (snapshot().people.length === 0) {
        await client.person.add({ code: 'anna', name: 'Anna', roles: ['operator'], pin: '4711' });
      }
      await client.person.choose({ code: 'anna' });
    },
    plan(file) {
      const series = snapshot().series.at(-1);
      if (series === undefined) throw new Error('no series is offered');
      return {
        file,
        subject: 'S01',
        ensemble: 'A',
        series: { name: series.name, version: series.version },
        orderOffset: 0,
        heartRateLimit: 180,
        heartByAge: null,
        requirementPercent: 2,
      };
    },
    ended,
    leave() {
      calls.socket.terminate();
      samples.socket.terminate();
    },
  };
}
