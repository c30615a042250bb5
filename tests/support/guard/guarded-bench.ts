import { spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { createRequire } from 'node:module';
import { setPriority } from 'node:os';
import { createInterface } from 'node:readline';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { monotonicNow } from '../../../src/host/clock/monotonic-now.ts';
import { readLeftGuards } from '../../../src/host/guard/left-guards.ts';
import type { RigAct } from '../../../src/host/rig/running-rig.ts';
import { startRigProcess } from '../../../src/host/rig/start-rig-process.ts';
import { foremost } from '../load/foremost.ts';
import { driveRuntime } from '../runtime/drive.ts';

/** Load and port that a round begins with; filtered air is at port 7 of the scenario. */
const watts = 150;
const loadedPort = 3;
export const filteredPort = 7;

/** A host process under load, and what became of the virtual laboratory when it was gone. */
export interface GuardedBench {
  readonly folder: string;
  /** Name of the rig in the laboratory. */
  readonly rig: string;
  /** What the host said last. */
  readonly trial: { readonly file: string; readonly trial: string };
  /** Has a host, started when there is none, put the subject under load, in a trial where that is wanted. */
  load(inTrial?: boolean): Promise<ChildProcess>;
  /** Seconds from then until the rig itself says so of load and valve. @throws Error after the limit. */
  parked(fromMicroseconds: number, limitSeconds: number): Promise<{ readonly load: number; readonly valve: number }>;
  stop(): Promise<void>;
}

/** Instruments on pseudo-terminals that outlive every host: a virtual rig in a process of its own. */
export async function startGuardedBench(folder: string): Promise<GuardedBench> {
  const rig = await startRigProcess({ wire: 'pty', scenario: 'cycle', seed: 5, truthFile: null });
  rankFirst(rig.processId);
  const acts: RigAct[] = [];
  rig.onAct((act) => acts.push(act));
  // The laboratory learns once where its instruments are.
  const setUp = await driveRuntime({ folder });
  const { procedures, window } = setUp;
  await procedures.rig.save({ rig: rig.rig }, window);
  await procedures.rig.open({ name: rig.rig.name }, window);
  for (const [instrument, connection] of rig.connections) {
    if (connection.transport !== 'serial') throw new Error('the rig must be on pseudo-terminals');
    const { baudRate, path } = connection;
    await procedures.rig.connect({ instrument, settings: { kind: 'serial', path, baudRate } }, window);
  }
  await setUp.end();
  acts.length = 0;

  const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
  const entry = fileURLToPath(new URL('./loaded-host-process.ts', import.meta.url));
  let host: ChildProcess | undefined;
  let said: AsyncIterator<string> | undefined;
  let trial = { file: '', trial: '' };

  return {
    folder,
    rig: rig.rig.name,
    get trial() {
      return trial;
    },
    async load(inTrial = false) {
      if (host === undefined || host.exitCode !== null || host.signalCode !== null) {
        const port = String(inTrial ? 0 : loadedPort);
        const words = ['--import', loader, entry, folder, rig.rig.name, String(watts), port];
        const [program, ...rest] = foremost([process.execPath, ...words]);
        const started = spawn(program, rest, { stdio: ['pipe', 'pipe', 'inherit'], detached: true });
        host = started;
        said = createInterface({ input: started.stdout })[Symbol.asyncIterator]();
      }
      acts.length = 0;
      host.stdin?.write('load\n');
      const answer = await said?.next();
      if (answer?.done !== false) throw new Error('the host has ended before it was loaded');
      trial = { ...trial, ...(JSON.parse(answer.value) as Partial<typeof trial>) };
      const last = (wanted: RigAct['act']): RigAct | undefined => acts.filter(({ act }) => act === wanted).at(-1);
      // What the rig says itself is what counts.
      await until(() => {
        const load = last('load');
        const valve = last('valve');
        const turned = inTrial || (valve?.act === 'valve' && valve.port === loadedPort);
        return turned && load?.act === 'load' && load.watts === watts;
      }, 5);
      acts.length = 0;
      return host;
    },
    async parked(fromMicroseconds, limitSeconds) {
      const find = (wanted: (act: RigAct) => boolean): number | undefined => {
        const found = acts.find(wanted);
        return found === undefined ? undefined : (found.atMicroseconds - fromMicroseconds) / 1e6;
      };
      const load = (): number | undefined => find((act) => act.act === 'load' && act.watts === 0);
      const valve = (): number | undefined => find((act) => act.act === 'valve' && act.port === filteredPort);
      await until(() => load() !== undefined && valve() !== undefined, limitSeconds);
      return { load: load() ?? Infinity, valve: valve() ?? Infinity };
    },
    async stop() {
      host?.kill('SIGKILL');
      // A guard is let finish while its instruments are still there.
      await readLeftGuards(folder);
      await rig.stop();
    },
  };
}

/** What measures waits for no other work, where that is allowed. */
function rankFirst(processId: number): void {
  try {
    setPriority(processId, -15);
  } catch {
    // Then it is as late as it is.
  }
}

async function until(condition: () => boolean, limitSeconds: number): Promise<void> {
  const ends = monotonicNow() + limitSeconds * 1e6;
  while (!condition()) {
    if (monotonicNow() > ends) throw new Error(`not within ${limitSeconds} s`);
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}
