import { setPriority } from 'node:os';
import { onceHeard } from '../load/once-heard.ts';
import { decodeFrame } from '../../../src/bridge/frame.ts';
import type { SampleFrame } from '../../../src/bridge/frame.ts';
import type { Plan } from '../../../src/bridge/contract.ts';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../../src/bridge/trial-snapshot.ts';
import { createHostRuntime } from '../../../src/host/runtime/create-host-runtime.ts';
import type { HostRuntime, HostRuntimeOptions } from '../../../src/host/runtime/create-host-runtime.ts';
import type { SampleMessage } from '../../../src/bridge/samples.ts';
import { quickScenario } from './quick-scenario.ts';

type Action = Parameters<HostRuntime['procedures']['trial']['command']>[0]['action'];

/** One window of a host in this process: what a person does at it, and what it gets to see. */
export interface Driver {
  readonly runtime: HostRuntime;
  readonly window: { readonly window: number };
  /** Every snapshot that was told, oldest first. */
  readonly snapshots: readonly Snapshot[];
  readonly frames: readonly SampleFrame[];
  readonly procedures: HostRuntime['procedures'];
  send(message: SampleMessage): void;
  trial(): TrialSnapshot;
  /** Waits for a condition on the newest snapshot. @throws Error after the limit, with what was seen last. */
  until(what: string, condition: (snapshot: Snapshot) => boolean, seconds?: number): Promise<Snapshot>;
  /** A person, a study, the virtual rig: all that a plan needs. */
  setUp(scenario?: string, seed?: number): Promise<{ readonly file: string }>;
  plan(file: string): Plan;
  command(action: Action, note?: string): Promise<void>;
  end(): Promise<void>;
}

/**
 * This process, and the rig that it starts, go before what else is run: time is real here, and what the machine does
 * beside it is not what is looked at. Refused where it is not allowed, and then it goes without.
 */
function goFirst(): void {
  try {
    setPriority(-15);
  } catch {
    // Not root: the tests allow for a machine that is busy.
  }
}

export async function driveRuntime(options: Omit<HostRuntimeOptions, 'program'>, number = 1): Promise<Driver> {
  goFirst();
  const runtime = await createHostRuntime({ program: '0.0.0-test', checkSeconds: 2, ...options });
  const window = { window: number };
  const { procedures } = runtime;
  const snapshots: Snapshot[] = [];
  const frames: SampleFrame[] = [];
  runtime.onSnapshot((snapshot) => snapshots.push(snapshot));
  runtime.windowOpened(window);
  const channel = runtime.openSamples(
    (bytes) => {
      const frame = decodeFrame(bytes);
      if (frame === null) throw new Error('a frame that is none');
      frames.push(frame);
      if (frame.kind === 'live' || frame.kind === 'history') channel.receive({ message: 'credit', frames: 1 });
    },
    () => 0,
  );
  const trial = (): TrialSnapshot => {
    const now = runtime.snapshot().trial;
    if (now === null) throw new Error('no trial is under way');
    return now;
  };
  const until: Driver['until'] = async (what, condition, seconds = 30) => {
    const ends = Date.now() + seconds * 1000;
    for (;;) {
      const snapshot = runtime.snapshot();
      if (condition(snapshot)) return snapshot;
      if (Date.now() > ends) {
        const { rig, trial: under, alarms } = snapshot;
        const seen = { rig: rig.state, instruments: rig.instruments, alarms, now: under?.now, ending: under?.ending };
        throw new Error(`${what} did not come within ${seconds} s; last seen: ${JSON.stringify(seen)}`);
      }
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
  };
  return {
    runtime,
    window,
    snapshots,
    frames,
    procedures,
    send: (message) => channel.receive(message),
    trial,
    until,
    async setUp(scenario = quickScenario, seed = 3) {
      const { people } = runtime.snapshot();
      if (people.length === 0) {
        await procedures.person.add({ code: 'anna', name: 'Anna', roles: ['operator'], pin: '4711' }, window);
      }
      await procedures.person.choose({ code: 'anna' }, window);
      await procedures.rig.startVirtual({ scenario, seed }, window);
      return procedures.study.create({ name: 'Driven study' }, window);
    },
    plan: (file) => {
      const series = runtime.snapshot().series.at(-1);
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
    async command(action, note = '') {
      const { trial: identifier } = trial();
      const asked = { trial: identifier, action, note, exercise: null, windowOffsetMilliseconds: null };
      await onceHeard(() => procedures.trial.command(asked, window));
    },
    async end() {
      channel.close();
      await runtime.close();
    },
  };
}
