import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import type { Plan } from '../../bridge/contract.ts';
import { methodForRig } from '../../leakage/method-for-rig.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import { compileSchedule } from '../../series/compile.ts';
import { restoreMachine } from '../../trial/restore.ts';
import type { MachineTime } from '../clock/machine-time.ts';
import { createTrialClock } from '../clock/trial-clock.ts';
import type { TrialClock } from '../clock/trial-clock.ts';
import type { Computer } from '../compute/computer.ts';
import type { RecalledTrial } from '../compute/jobs.ts';
import { newIdentifier, recordEnd, subjectInside, truthPathOf, wallGapMicroseconds } from '../session/resumption.ts';
import type { StudyRecorder, TrialRecorder, UnfinishedTrial } from '../store/contract.ts';
import { openStudyForRecording } from '../store/recorder.ts';
import type { GuardDesk } from './guard-desk.ts';
import type { TrialSupports } from './laboratory-desk.ts';
import type { OpenRig } from './open-rig.ts';
import type { CompiledPlan } from './preview.ts';
import { heartOf, repeatedLimits } from './limits.ts';
import { refusal, underWayRefusal } from './refusal.ts';
import type { RigDesk } from './rig-desk.ts';
import { createTrialUnderWay } from './trial-under-way.ts';
import { failureText } from './trial-ending.ts';
import type { TrialUnderWay, TrialUnderWayOptions } from './trial-under-way.ts';
import { failureOf } from '../failure.ts';

export interface TrialDeskOptions {
  readonly hostId: Identifier;
  readonly program: string;
  readonly machine: MachineTime;
  readonly wallNow: () => Date;
  readonly wire: 'pty' | 'tcp';
  readonly rigs: RigDesk;
  readonly computing: Computer;
  /** Path of the laboratory file. */
  readonly laboratory: string;
  /** Path of a study of the folder. @throws `file-not-found`. */
  readonly pathOf: (file: string) => string;
  /** The laboratory's newest rig of this name, opened; whatever it takes. @throws `action-refused`. */
  readonly openLaboratoryRig: (name: string) => Promise<void>;
  /** A trial has come, or gone: null. */
  readonly onTrial: (trial: TrialUnderWay | null) => void;
  /** What guards did about a trial and is in no record yet. */
  readonly guardReportsOf: GuardDesk['reportsOf'];
  readonly onChange: () => void;
  /** The folder holds something new. */
  readonly onFolder: () => Promise<void>;
}

/** The one trial that this host has under way, or none. */
export interface TrialDesk {
  readonly trial: TrialUnderWay | null;
  /** What writes into the study of this path because a trial of it is under way; null: nothing does. */
  recordingInto(path: string): StudyRecorder | null;
  /** @param supports of the rig, as they stand now. */
  prepare(
    plan: Plan,
    compiled: CompiledPlan,
    person: string,
    supports: TrialSupports,
  ): Promise<Identifier>;
  /**
   * Prepares a trial anew that is void or was stopped, by the plan that is frozen with it, on the open rig.
   * @param from exercise with which to begin; null: all of it.
   * @throws ChambersideError as `readRepeatedPlan` and `repeatedLimits`; `action-refused` where another rig is open.
   */
  repeat(
    file: string,
    earlier: Identifier,
    from: string | null,
    person: string,
    supports: TrialSupports,
  ): Promise<Identifier>;
  resume(file: string, trial: Identifier): Promise<void>;
  /** @throws `action-refused` while the trial is under way. */
  leave(): void;
  assess(file: string, trial: Identifier): Promise<void>;
  /** The host ends. */
  interrupt(reason: string): Promise<void>;
}

/** What a plan leaves in the header of its trial. */
type PlannedHeader = Pick<TrialHeader, 'subject' | 'ensemble'> &
  Partial<
    Pick<TrialHeader, 'heartRateLimit' | 'heartRateLimitFrom' | 'watch' | 'requirementPercent' | 'repeats'>
  >;

/** A disk that refuses is not waited for longer than this when a trial is given up, ms. */
const patienceMilliseconds = 2_000;

export function createTrialDesk(options: TrialDeskOptions): TrialDesk {
  const { computing, machine, rigs } = options;
  let trial: TrialUnderWay | null = null;
  let study: StudyRecorder | null = null;

  const openStudy = (path: string): Promise<StudyRecorder> =>
    openStudyForRecording({ path, hostId: options.hostId, onFailure: (failure) => trial?.diskRefused(failure) });

  const closeStudy = async (): Promise<void> => {
    const closing = study;
    study = null;
    await closing?.close();
  };

  const mustBeFree = (): void => {
    if (trial === null) return;
    if (trial.ending === 'done' || trial.ending === 'failed') {
      set(null);
      return;
    }
    throw underWayRefusal(trial.header.trial, trial.waitsForAfter);
  };
  const set = (next: TrialUnderWay | null): void => {
    trial = next;
    options.onTrial(next);
    options.onChange();
  };

  const makeClock = (segment: number, reason: 'start' | 'restart', beginsAtMicroseconds: number): TrialClock =>
    createTrialClock({
      source: machine.clock,
      bootId: newIdentifier('boot'),
      wallNow: options.wallNow,
      segment,
      reason,
      beginsAtMicroseconds,
    });

  const seal = async (
    recording: StudyRecorder,
    recorder: TrialRecorder,
    path: string,
    tell: (ending: 'sealing' | 'assessing') => void,
  ): Promise<void> => {
    try {
      tell('sealing');
      await recorder.seal();
      await options.onFolder();
      tell('assessing');
      const { method, assessment } = await computing.do('assess', { path: recording.path, trial: recorder.trial });
      await recording.storeAssessment({
        trial: recorder.trial,
        method,
        program: options.program,
        cells: assessment.cells,
        details: assessment,
      });
      if (recording.path !== path) throw sealedElsewhere(recording.path, path);
    } finally {
      await closeStudy().catch((error: unknown) => {
        // Where it is has been said above.
        if (recording.path === path) throw error;
      });
      await options.onFolder();
    }
  };

  const abandon = async (recorder: TrialRecorder): Promise<string | null> => {
    await Promise.race([
      recorder.abandon().catch(() => undefined),
      new Promise((resolve) => setTimeout(resolve, patienceMilliseconds)),
    ]);
    const said = await closeStudy().then(
      () => null,
      (error: unknown) => failureText(failureOf(error)),
    );
    await options.onFolder().catch(() => undefined);
    return said;
  };

  /** Makes the trial and begins it; whatever fails gives the study back. */
  const begin = async (
    path: string,
    recording: StudyRecorder,
    parts: Omit<TrialUnderWayOptions, 'machine' | 'finish' | 'abandon' | 'onCue' | 'onChange'>,
  ): Promise<void> => {
    const made = createTrialUnderWay({
      ...parts,
      machine,
      finish: (recorder, tell) => seal(recording, recorder, path, tell),
      abandon,
      onCue: ({ cue, exercise }) => rigs.virtual?.process.cue({ cue, exercise }),
      onChange: options.onChange,
    });
    set(made);
    await made.begin();
    await options.onFolder();
  };

  /** A trial that could not be begun, and its study: nothing goes on recording behind a study that is closed. */
  const giveBack = async (): Promise<void> => {
    await trial?.interrupt('it could not be begun').catch(() => undefined);
    if (trial !== null) set(null);
    await closeStudy().catch(() => undefined);
  };

  /** What a header says of the plan, and not of who, when and where. */
  const plannedIn = (plan: Plan, rig: OpenRig): PlannedHeader => ({
    subject: plan.subject,
    ensemble: plan.ensemble,
    ...heartOf(plan, rig.rig.heartRate),
    ...(plan.requirementPercent === null ? {} : { requirementPercent: plan.requirementPercent }),
  });

  const prepareAs = async (
    file: string,
    planned: PlannedHeader,
    compiled: CompiledPlan,
    person: string,
    supports: TrialSupports,
  ): Promise<Identifier> => {
    mustBeFree();
    const rig = rigs.require();
    const path = options.pathOf(file);
    const recording = await openStudy(path);
    study = recording;
    try {
      const header: TrialHeader = {
        ...planned,
        trial: newIdentifier('trial'),
        study: recording.identity.study,
        operator: person,
        virtual: rig.rig.virtual,
        program: options.program,
        ...(rigs.virtual === null ? {} : { rehearsal: { scenario: rigs.virtual.scenario, seed: rigs.virtual.seed } }),
        ...supports,
      };
      const clock = makeClock(0, 'start', 0);
      const { method, schedule, series } = compiled;
      const recorder = await recording.createTrial({
        header,
        rig: rig.rig,
        series,
        method,
        streams: rig.streams,
        instruments: rig.instruments.map(({ instrument, kind, dialect, connection }) => ({
          instrument,
          kind,
          dialect,
          connection: connection ?? 'not connected',
        })),
        segment: clock.segment,
      });
      rigs.virtual?.nameTruth(truthPathOf(path, header.trial));
      await begin(path, recording, { file, header, rig, series, schedule, method, clock, recorder, resume: null });
      return header.trial;
    } catch (error) {
      await giveBack();
      throw error;
    }
  };

  /** The rig that an interrupted trial needs, open; a virtual one is started again where its truth goes on. */
  const rigFor = async (path: string, unfinished: UnfinishedTrial, recalled: RecalledTrial): Promise<OpenRig> => {
    const { rehearsal } = unfinished.header;
    if (rehearsal !== undefined) {
      const opened = rigs.opened;
      if (opened !== null && rigs.virtual === null) {
        throw refusal('a rig of instruments is open', opened.rig.name, 'Close it: the trial belongs to a virtual rig.');
      }
      if (opened !== null) await rigs.close();
      const truthFile = truthPathOf(path, unfinished.trial);
      await rigs.startVirtual({
        wire: options.wire,
        scenario: rehearsal.scenario,
        seed: rehearsal.seed,
        truthFile,
        passing: false,
        continueTruth: existsSync(truthFile),
        ...(subjectInside(recalled.events) ? { startedInside: { exercise: null } } : {}),
      });
      return rigs.require();
    }
    if (rigs.opened === null) await options.openLaboratoryRig(recalled.rig.name);
    const opened = rigs.require();
    // Versions count up; everything that a result rests on must be as it was.
    if (!isDeepStrictEqual(opened.rig, recalled.rig)) {
      throw refusal(
        `the trial was begun on ${recalled.rig.name}, version ${recalled.rig.version}, and the open rig differs`,
        opened.rig.name,
        'Open that rig, or close the trial as it is with the command line.',
      );
    }
    return opened;
  };

  return {
    get trial() {
      return trial;
    },
    recordingInto: (path) => (study !== null && study.path === path ? study : null),
    async prepare(plan, compiled, person, supports) {
      return prepareAs(plan.file, plannedIn(plan, rigs.require()), compiled, person, supports);
    },
    async repeat(file, earlier, from, person, supports) {
      mustBeFree();
      const asked = { path: options.pathOf(file), trial: earlier, from };
      const { header, rig, series } = await computing.do('repeated-plan', asked);
      const { rig: opened, streams } = rigs.require();
      const scenario = header.rehearsal?.scenario;
      if (opened.name !== rig.name || opened.virtual !== rig.virtual || rigs.virtual?.scenario !== scenario) {
        const which = scenario === undefined ? rig.name : `the virtual rig ${scenario}`;
        throw refusal(`the trial was recorded on ${which}, and another rig is open`, opened.name, `Open ${which}.`);
      }
      const { ensemble, requirementPercent, subject } = header;
      const planned: PlannedHeader = {
        ...{ subject, ensemble, repeats: { trial: earlier, from } },
        ...repeatedLimits(header, opened, streams),
        ...(requirementPercent === undefined ? {} : { requirementPercent }),
      };
      const compiled = { series, schedule: compileSchedule(series, opened), method: methodForRig(opened) };
      return prepareAs(file, planned, compiled, person, supports);
    },
    async resume(file, identifier) {
      mustBeFree();
      const path = options.pathOf(file);
      const recording = await openStudy(path);
      study = recording;
      try {
        const unfinished = (await recording.unfinishedTrials()).find((each) => each.trial === identifier);
        if (unfinished === undefined) {
          throw new ChambersideError('trial-not-found', 'no such unfinished trial', file, 'Read the folder again.');
        }
        const recalled = await computing.do('recall', { path, trial: identifier });
        const schedule = compileSchedule(recalled.series, recalled.rig);
        const restored = restoreMachine(recalled.events, schedule);
        const rig = restored?.phase === 'closed' ? null : await rigFor(path, unfinished, recalled);
        const end = recordEnd(unfinished);
        const gap = wallGapMicroseconds(end, options.wallNow().getTime());
        const clock = makeClock(end.segment.segment + 1, 'restart', unfinished.throughMicroseconds + gap);
        const recorder = await recording.resumeTrial(identifier, clock.segment);
        if (rig === null) {
          // Everything has happened; only the seal is missing, and what the guard did when the host was lost.
          const { events, kept } = options.guardReportsOf(identifier, clock.now());
          for (const event of events) recorder.event(event);
          await seal(recording, recorder, path, () => undefined);
          kept();
          return;
        }
        await begin(path, recording, {
          file,
          header: unfinished.header,
          rig,
          series: recalled.series,
          schedule,
          method: recalled.method,
          clock,
          recorder,
          resume: { recalled, machine: restored, lostAtMicroseconds: unfinished.throughMicroseconds },
        });
      } catch (error) {
        await giveBack();
        throw error;
      }
    },
    leave() {
      mustBeFree();
    },
    async assess(file, identifier) {
      const path = options.pathOf(file);
      const recording = study;
      if (recording !== null && recording.path === path) {
        if (trial?.header.trial === identifier && trial.ending === 'no') {
          const what = 'the trial is not closed yet';
          throw new ChambersideError('trial-not-finished', what, identifier, 'Close it first.');
        }
        const { method, assessment } = await computing.do('assess', { path, trial: identifier });
        const entry = { trial: identifier, method, program: options.program, cells: assessment.cells };
        await recording.storeAssessment({ ...entry, details: assessment });
      } else {
        const now = options.wallNow().toISOString();
        await computing.do('store-assessment', { path, trial: identifier, program: options.program, now });
      }
      await options.onFolder();
    },
    async interrupt(reason) {
      await trial?.interrupt(reason);
      await closeStudy();
    },
  };
}

/** The trial is safe, and not where everybody looks for it. */
function sealedElsewhere(path: string, asked: string): ChambersideError {
  const name = basename(path);
  return new ChambersideError(
    'commit-failed',
    `The trial is sealed and assessed in ${name}, because another file has taken the place of its study`,
    asked,
    `Open ${name}, which holds the whole study, and find out what puts files here.`,
  );
}
