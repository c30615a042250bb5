import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Snapshot, StudyRow } from '../../bridge/snapshot.ts';
import type { Cancel } from '../../device/timers.ts';
import { createMachineTime } from '../clock/machine-time.ts';
import type { MachineTime } from '../clock/machine-time.ts';
import { createMonotonicClock } from '../clock/monotonic-clock.ts';
import { createComputer } from '../compute/computer.ts';
import type { ServedHost } from '../door/served-host.ts';
import { readLeftGuards } from '../guard/left-guards.ts';
import type { RigFault } from '../rig/running-rig.ts';
import { createSampleHub } from '../samples/sample-hub.ts';
import { createReplayDesk } from '../replay/replay-desk.ts';
import { newIdentifier } from '../session/resumption.ts';
import { listSerialPorts } from '../transport/list-ports.ts';
import type { PortListing } from '../transport/list-ports.ts';
import { openTransport } from '../transport/open.ts';
import { portHolders } from '../transport/port-holders.ts';
import { createReadlineFramer } from '../transport/readline-framer.ts';
import { clearPassingTruths, freeBytes, laboratoryFile, studyPath } from './folder.ts';
import { createGuardDesk, inTheRecord } from './guard-desk.ts';
import { openLaboratoryDesk } from './laboratory-desk.ts';
import type { LaboratoryDesk } from './laboratory-desk.ts';
import { createPortDesk } from './port-desk.ts';
import { hostProcedures } from './procedures.ts';
import { refusal } from './refusal.ts';
import { createRigDesk } from './rig-desk.ts';
import { createSnapshotPublisher } from './snapshot-publisher.ts';
import type { SnapshotPublisher } from './snapshot-publisher.ts';
import { createSealedDesk } from './sealed-desk.ts';
import { createTrialDesk } from './trial-desk.ts';
import { hostView } from './view/host.ts';
import { keepWindows } from './window-keeper.ts';

export interface HostRuntimeOptions {
  /** Study files, laboratory file, truth files of virtual rigs; made when it is missing. */
  readonly folder: string;
  /** Version of the program, as it is shown and recorded. */
  readonly program: string;
  /** The machine's clocks; its own when absent. */
  readonly machine?: MachineTime;
  /** Wall clock; the machine's own when absent. */
  readonly wallNow?: () => Date;
  /** What a virtual rig speaks on first, default `pty`; where there are no pseudo-terminals it falls back to TCP. */
  readonly virtualRigWire?: 'pty' | 'tcp';
  /** How long a check reads air that has settled, s, default 10; all of its times follow from it. */
  readonly checkSeconds?: number;
  /** Lists the machine's ports; the machine's own list when absent. */
  readonly listPorts?: () => Promise<PortListing>;
}

/** The host behind its doors. */
export interface HostRuntime extends ServedHost {
  /** A trial under way is held, everything is on the disk, every port is given back. Safe to call twice. */
  close(): Promise<void>;
  /**
   * Told each time the last window has stayed away for a while: whether a trial is under way; it is held already.
   * @returns a function that ends it.
   */
  onAlone(listener: (trialUnderWay: boolean) => void): () => void;
  /**
   * Lets something go wrong on the virtual rig, for training and for tests.
   * @throws ChambersideError `action-refused` when no virtual rig is open.
   */
  injectFault(fault: RigFault): void;
}

const tickMicroseconds = 250_000;
const freeEveryTicks = 120;

/** @throws ChambersideError when folder or laboratory file cannot be opened. */
export async function createHostRuntime(options: HostRuntimeOptions): Promise<HostRuntime> {
  const { folder, program } = options;
  const machine = options.machine ?? createMachineTime(createMonotonicClock());
  const wallNow = options.wallNow ?? ((): Date => new Date());
  const wire = options.virtualRigWire ?? 'pty';
  const { clock } = machine;
  const hostId = newIdentifier('host');
  const startedAt = wallNow().toISOString();
  mkdirSync(folder, { recursive: true });
  clearPassingTruths(folder);
  // Before anything is opened: a guard of an earlier host may hold its ports.
  const left = await readLeftGuards(folder);

  // Reading must not wait for computing: a history is asked for while an assessment runs.
  const files = createComputer();
  const computing = createComputer();
  const reporting = createComputer();
  let studies: StudyRow[] = [];
  let free: number | null = null;
  let person: string | null = null;
  let openedAt = 0;
  let ended: Promise<void> | undefined;
  let cancelTick: Cancel | undefined;
  const lonely = new Set<(trialUnderWay: boolean) => void>();

  let publisher: SnapshotPublisher | null = null;
  const changed = (): void => publisher?.mark();
  const refresh = async (): Promise<void> => {
    studies = await files.do('studies', { folder });
    changed();
  };

  let laboratory: LaboratoryDesk;
  try {
    laboratory = await openLaboratoryDesk({ path: join(folder, laboratoryFile), files, wallNow, onChange: changed });
    await refresh();
    free = await freeBytes(folder);
  } catch (error) {
    await Promise.all([files.end(), computing.end(), reporting.end()]);
    throw error;
  }

  const hub = createSampleHub({
    clock,
    readHistory({ of, stream, fromMicroseconds, toMicroseconds, mostSamples }) {
      if (of === null) return Promise.resolve({ times: new Float64Array(0), values: new Float64Array(0) });
      const ask = { trial: of.trial, stream, fromMicroseconds, toMicroseconds, mostSamples };
      return files.do('history', { path: studyPath(folder, of.file), ...ask });
    },
  });

  const guards = createGuardDesk({
    folder,
    clock,
    left,
    onLost: (detail) => void hold('guard-lost', `The guard of the loads has gone: ${detail}.`),
    onWatching: () => trials.trial?.condition('guard-lost', null, false, 'The guard watches the loads again.'),
    onRecord(about, detail, kept) {
      const { trial } = trials;
      if (trial?.header.trial !== about.trial || !hold('guard-parked', detail)) return false;
      trial.condition('guard-parked', null, false, inTheRecord);
      trial.whenKept(kept);
      return true;
    },
    onChange: changed,
  });
  /** The trial that is recorded, once its record has begun. */
  const tellGuards = (): void => {
    const { trial } = trials;
    guards.setTrial(trial?.recording === true ? { file: trial.file, trial: trial.header.trial } : null);
  };

  const ports = createPortDesk({
    clock,
    list: options.listPorts ?? (() => listSerialPorts()),
    holders: portHolders,
    open: openTransport,
    inUse: () => rigs.portsInUse(),
  });

  const rigs = createRigDesk({
    clock,
    wallNow,
    lines: createReadlineFramer,
    guards,
    settingsOf: laboratory.settingsOf,
    today: ports.today,
    checkSeconds: options.checkSeconds ?? 10,
    ...{ folder, program },
    onOpened(rig) {
      openedAt = clock.now();
      hub.begin(rig.streams.length);
      setBase();
    },
    onEnded: (detail) => void hold('rig-ended', `The process of the virtual rig has ended: ${detail}`),
    onClosed() {
      hub.end();
      setBase();
    },
    onReading: (stream, { atMicroseconds, value }) => hub.push(stream, atMicroseconds, value),
    onCheck: async (rig, { beginning, person: by, record }) =>
      void (await laboratory.change({ change: 'check', beginning, ground: { rig, record }, person: by })),
    onChange: changed,
  });

  const onFolder = async (): Promise<void> => {
    tellGuards();
    await refresh();
  };
  const laboratoryPath = join(folder, laboratoryFile);
  const pathOf = (file: string): string => studyPath(folder, file);

  const trials = createTrialDesk({
    hostId,
    program,
    machine,
    wallNow,
    wire,
    rigs,
    computing,
    laboratory: laboratoryPath,
    pathOf,
    openLaboratoryRig: async (name) => rigs.openLaboratory(laboratory.rig(name)),
    onTrial: () => setBase(),
    guardReportsOf: guards.reportsOf,
    onChange: changed,
    onFolder,
  });

  const sealed = createSealedDesk({
    ...{ program, wallNow, computing, laboratory: laboratoryPath, pathOf, onFolder },
    recordingInto: trials.recordingInto,
  });

  const replays = createReplayDesk({
    clock,
    hub,
    read: (file, trial) => files.do('record', { path: studyPath(folder, file), trial }),
    onChange: changed,
    onEnd: () => setBase(),
  });

  /** Windows see the time of the trial while there is one, and else the time since the rig was opened. */
  function setBase(): void {
    const { trial } = trials;
    if (trial !== null) {
      const { clock: trialClock, file, header } = trial;
      hub.setBase({
        toBase: (at) => trialClock.toTrialTime(at),
        beginsAtMicroseconds: trialClock.segment.monotonicOriginMicroseconds,
        now: () => trialClock.now(),
        recorded: {
          file,
          trial: header.trial,
          history: ({ stream, fromMicroseconds, mostSamples }, toMicroseconds) =>
            files.do('history', {
              path: studyPath(folder, file),
              trial: header.trial,
              stream,
              fromMicroseconds,
              toMicroseconds,
              mostSamples,
            }),
        },
      });
      return;
    }
    const begins = openedAt;
    hub.setBase(
      rigs.opened === null
        ? null
        : {
            toBase: (at) => at - begins,
            beginsAtMicroseconds: begins,
            now: () => clock.now() - begins,
            recorded: null,
          },
    );
  }

  const windows = keepWindows(clock, {
    onChange: changed,
    onCompany: () => trials.trial?.condition('window-lost', null, false, 'There is a window again.'),
    onAlone() {
      if (replays.open) replays.change({ playing: false });
      const trialUnderWay = hold('window-lost', 'No window is open: nobody sees the trial.');
      for (const listener of [...lonely]) listener(trialUnderWay);
    },
  });

  /**
   * Holds a trial and raises an alarm. What concerns the load concerns whoever is on it for as long as the record goes
   * on, the list of after the trial included.
   * @returns whether there is a trial that this is about, and it was recorded.
   */
  function hold(alarm: 'window-lost' | 'rig-ended' | 'guard-lost' | 'guard-parked', detail: string): boolean {
    const { trial } = trials;
    const ofGuard = alarm === 'guard-lost' || alarm === 'guard-parked';
    if (trial?.recording !== true || (trial.machine.phase === 'closed' && !ofGuard)) return false;
    if (trial.machine.phase === 'running') {
      const held = { action: 'hold', person: 'host', exercise: null, windowOffsetMilliseconds: null } as const;
      trial.command({ ...held, note: detail });
    }
    return trial.condition(alarm, null, true, detail);
  }

  const view = (): Omit<Snapshot, 'version'> =>
    hostView({
      host: {
        ...{ hostId, program, startedAt, folder, freeBytes: free },
        ...{ windows: windows.count, subjectDisplays: windows.subjectDisplays },
      },
      person,
      laboratory,
      studies,
      rigs,
      trial: trials.trial,
      replay: replays.view(),
    });

  const published = createSnapshotPublisher(clock, view);
  publisher = published;

  let ticks = 0;
  const tick = (): void => {
    cancelTick = clock.after(tickMicroseconds, tick);
    ticks += 1;
    // Counts move all the time: they are shown once a second, a check as it goes.
    if (rigs.opened !== null && (ticks % 4 === 0 || rigs.checking)) changed();
    if (ticks % freeEveryTicks !== 0) return;
    void freeBytes(folder).then((bytes) => {
      free = bytes;
      changed();
    });
  };
  tick();

  const close = async (): Promise<void> => {
    windows.end();
    replays.end();
    const failures: unknown[] = [];
    for (const step of [() => trials.interrupt('the program was ended'), () => rigs.close()]) {
      await step().catch((error: unknown) => failures.push(error));
    }
    cancelTick?.();
    hub.close();
    published.end();
    await Promise.all([files.end(), computing.end(), reporting.end()]);
    if (failures.length > 0) throw failures[0];
  };

  return {
    procedures: hostProcedures({
      folder,
      wire,
      files,
      reporting,
      laboratory,
      rigs,
      ports,
      trials,
      sealed,
      replays,
      wallNow,
      refresh,
      changed,
      person: {
        get: () => person,
        set(code) {
          person = code;
          changed();
        },
      },
    }),
    clock: () => ({
      machineMilliseconds: clock.now() / 1000,
      trialMicroseconds: trials.trial === null ? null : Math.round(trials.trial.clock.now()),
    }),
    snapshot: () => published.snapshot(),
    onSnapshot: (listener) => published.listen(listener),
    openSamples: (send, waitingBytes) => hub.open(send, waitingBytes),
    windowOpened: (window) => windows.opened(window),
    windowClosed: (window) => windows.closed(window),
    onAlone(listener) {
      lonely.add(listener);
      return () => void lonely.delete(listener);
    },
    injectFault(fault) {
      if (rigs.virtual === null) throw refusal('no virtual rig is open', 'rig', 'Start the virtual rig.');
      rigs.virtual.process.inject(fault);
    },
    close() {
      ended ??= close();
      return ended;
    },
  };
}
