import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { SampleFrame } from '../../src/bridge/frame.ts';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { Identifier } from '../../src/model/identity.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { startProgram, type StartedProgram } from '../support/end-to-end/started-program.ts';
import { writeLoadScenario } from '../support/load/load-scenario.ts';
import { openProgramWindow, type ProgramWindow } from '../support/load/program-window.ts';

/** Length of the exercise, s: a trial of a minute and a half. */
const exerciseSeconds = 60;

/**
 * The program as people start it, in a process of its own, with instruments on pseudo-terminals that speak 200 times a
 * second, a trial under way, and a window that looks at it.
 */
export interface ProgramBench {
  readonly folder: string;
  readonly window: ProgramWindow;
  readonly program: StartedProgram;
  /** The study, and the trial that is under way in it. */
  readonly study: string;
  readonly trial: Identifier;
  /** Trial time of the last reading of the photometer that the window was shown, µs. */
  readonly shownMicroseconds: number;
  /** A host and a window where there is none, and a trial that runs, at least two seconds of it shown. */
  ready(): Promise<void>;
  /** Another window in the place of the one that is gone. */
  openWindow(): Promise<void>;
  /** The trial as it stands in its file. */
  record(): TrialRecord;
  /** Findings of the file that are bad. */
  findings(): string[];
  /** Stops and closes the trial, and waits until it is sealed. */
  finish(): Promise<TrialRecord>;
  end(): Promise<void>;
}

/**
 * @param options.folder where the studies lie; one that is made and removed when absent.
 * @param options.scenario written into it, and its name; the load scenario when absent.
 * @param options.command what runs the program's `start`; the built program when absent.
 */
export async function openProgramBench(
  options: {
    readonly folder?: string;
    readonly scenario?: (folder: string) => string;
    readonly command?: readonly string[];
  } = {},
): Promise<ProgramBench> {
  const folder = options.folder ?? mkdtempSync(join(tmpdir(), 'faults-'));
  const scenario = (options.scenario ?? writeLoad)(folder);
  let program = startProgram(folder, options.command);
  let window = await openProgramWindow(await program.address(), take);
  await window.stepUp();
  const { file } = await window.client.study.create({ name: 'Faults' });
  const study = join(folder, file);
  let trial: Identifier | null = null;
  let shown = 0;
  let fresh = 0;

  function take({ kind, stream, times }: SampleFrame): void {
    if (kind !== 'live' || stream !== 0) return;
    shown = times.at(-1) ?? shown;
    fresh += times.length;
  }
  const under = (): Identifier => {
    if (trial === null) throw new Error('no trial has been begun');
    return trial;
  };
  const live = (): Promise<Snapshot> =>
    window.until('every instrument', ({ rig }) =>
      rig.instruments.length > 0 && rig.instruments.every(({ state }) => state === 'live'),
    );
  const begin = async (): Promise<void> => {
    if (window.snapshot().rig.instruments.length === 0) {
      await window.client.rig.startVirtual({ scenario, seed: 3 });
    }
    await live();
    ({ trial } = await window.client.trial.prepare(window.plan(file)));
    await window.until('the trial', (now) => now.trial?.trial === trial);
    await window.command('start');
  };
  const ended = (snapshot: Snapshot): boolean => ['done', 'failed'].includes(snapshot.trial?.ending ?? '');
  const ending = (snapshot: Snapshot): boolean => (snapshot.trial?.ending ?? 'no') !== 'no';

  return {
    folder,
    study,
    get window() {
      return window;
    },
    get program() {
      return program;
    },
    get trial() {
      return under();
    },
    get shownMicroseconds() {
      return shown;
    },
    async ready() {
      if (program.child.exitCode !== null || program.child.signalCode !== null) {
        program = startProgram(folder, options.command);
        window = await openProgramWindow(await program.address(), take);
        await window.stepUp();
        await window.until('the study', ({ studies }) => studies.some((row) => row.file === file));
        const row = window.snapshot().studies.find((one) => one.file === file);
        const left = row?.trials.find((one) => one.trial === trial);
        if (left?.standing === 'interrupted') {
          await window.client.trial.resume({ file, trial: under() });
          await window.until('the trial', ({ trial: now }) => now !== null);
        }
      }
      if (window.snapshot().trial !== null && ending(window.snapshot())) {
        await window.until('the end', ended, 60);
        await window.client.trial.leave({});
        await window.until('no trial', (now) => now.trial === null);
      }
      const now = window.snapshot().trial;
      if (now === null) await begin();
      else if (now.phase === 'prepared') await window.command('start');
      else if (now.phase === 'held') {
        await live();
        await window.command('go-on', 'in place and fit');
      }
      window.subscribe([0]);
      await window.until('a trial that runs', ({ trial: at }) => at?.phase === 'running');
      fresh = 0;
      await window.until('readings', () => fresh > 200);
    },
    async openWindow() {
      window = await openProgramWindow(await program.newestAddress(), take);
      window.subscribe([0]);
    },
    record: () => readTrial(study, under()),
    findings: () => verify(study).findings.flatMap(({ severity, text }) => (severity === 'bad' ? [text] : [])),
    async finish() {
      if (window.snapshot().trial === null) return readTrial(study, under());
      if (!ending(window.snapshot())) {
        if (window.trial().phase !== 'stopped') await window.command('stop', 'tried');
        await window.command('close');
      }
      await window.until('the end', ended, 60);
      return readTrial(study, under());
    },
    async end() {
      window.leave();
      await program.end();
      if (options.folder === undefined) rmSync(folder, { recursive: true, force: true });
    },
  };
}

function writeLoad(folder: string): string {
  writeLoadScenario(folder, exerciseSeconds);
  return 'load.json';
}

/** The widest stretch without a reading of the photometer inside it, besides its own rhythm, s. */
export function widestGapSeconds({ streams }: TrialRecord, from: number, to: number): number {
  const [stream] = streams;
  const times = [...(stream?.atMicroseconds ?? [])].filter((at) => at >= from && at <= to);
  const widest = [...times, to].reduce((most, at, index) => Math.max(most, at - (times[index - 1] ?? from)), 0);
  return Math.max(0, widest / 1e6 - (stream?.descriptor.expectedIntervalSeconds ?? 0));
}
