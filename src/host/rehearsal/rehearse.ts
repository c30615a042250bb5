import { assess } from '../../leakage/assess.ts';
import type { Assessment } from '../../leakage/assessment.ts';
import { methodForRig } from '../../leakage/method-for-rig.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import { toMicroseconds, toSeconds } from '../../model/time.ts';
import { alarmsOfRecord } from '../../safety/alarms-of-record.ts';
import { contactsOf } from '../../safety/contacts.ts';
import { compileSchedule } from '../../series/compile.ts';
import { restoreMachine } from '../../trial/restore.ts';
import { createAcquisition, describeStreams } from '../acquisition/acquisition.ts';
import { createTrialClock } from '../clock/trial-clock.ts';
import { newIdentifier } from '../session/resumption.ts';
import { createTrialSession, type SessionCounts } from '../session/trial-session.ts';
import type { SealResult, StudyRecorder, TrialRecorder, UnfinishedTrial } from '../store/contract.ts';
import { readPlannedMethod, readTrial, readWire } from '../store/read.ts';
import { openStudyForRecording } from '../store/recorder.ts';
import { openTruth } from '../rig/truth-reader.ts';
import { programVersion } from '../version.ts';
import { awaitStop } from './await-stop.ts';
import { checkScenario } from './check-scenario.ts';
import { createDiskGate } from './disk-gate.ts';
import { goOnAfterSeconds, watchHolds } from './hold-watch.ts';
import { createPatience } from './patience.ts';
import { findUnfinished, planRehearsal, type PlanOptions, type RehearsalPlan } from './plan.ts';
import { setStage, type RehearsalWire, type Stage } from './stage.ts';
import { countBytes, countRecord, type InstrumentBytes, type LiveAccount } from './totals.ts';
import { joinTruth, type JudgedCell } from './truth-join.ts';
import { withEnd } from './with-end.ts';

export interface RehearsalOptions extends PlanOptions {
  readonly subject: string;
  readonly ensemble: string;
  readonly operator: string;
  /** Highest heart rate, per minute: above it an alarm is recorded. */
  readonly heartRateLimit: number;
  /** Leakage that the requirement allows, percent; absent when there is none. */
  readonly requirementPercent?: number;
  readonly onProgress?: (progress: RehearsalProgress) => void;
  /** Ends the rehearsal early; the trial stays unfinished and can be resumed. */
  readonly interruption?: AbortSignal;
  /** Opens the study for recording, where something is to stand between a trial and its disk; default the writer. */
  readonly openStudy?: typeof openStudyForRecording;
}

/** After every commit. */
export interface RehearsalProgress {
  readonly trial: Identifier;
  readonly link: number;
  /** Everything before this trial time is on disk, µs. */
  readonly throughMicroseconds: number;
  readonly exercise: string | null;
  readonly exerciseNumber: number;
  readonly exercises: number;
}

export interface RehearsalResult {
  readonly trial: Identifier;
  readonly scenario: string;
  readonly seed: number;
  readonly wire: RehearsalWire;
  readonly truthPath: string;
  /** Of the whole trial, from the record: also of what came before an interruption. */
  readonly counts: SessionCounts & { readonly links: number };
  /** As `counts`. */
  readonly bytes: Readonly<Record<string, InstrumentBytes>>;
  readonly trialSeconds: number;
  readonly realSeconds: number;
  readonly seal: SealResult;
  readonly assessmentId: Identifier;
  readonly assessment: Assessment;
  readonly cells: readonly JudgedCell[];
}

/** A disk that refuses for this long ends the rehearsal, real ms. */
const patienceMilliseconds = 10_000;

/**
 * A whole trial on the virtual rig: instruments, series, record, seal, assessment, and beside every cell the truth.
 * @throws ChambersideError for everything that keeps the trial from being completed; what is recorded stays.
 */
export async function rehearse(options: RehearsalOptions): Promise<RehearsalResult> {
  const startedAt = process.hrtime.bigint();
  checkScenario(options);
  let refuse: (error: Error) => void = () => undefined;
  const patience = createPatience(Date.now, patienceMilliseconds);
  const study = await (options.openStudy ?? openStudyForRecording)({
    path: options.studyPath,
    ...(options.resume ? {} : { create: { studyName: 'Rehearsals' } }),
    hostId: newIdentifier('host'),
    onFailure(failure) {
      if (!patience.refused()) return;
      refuse(
        new ChambersideError(
          failure.code,
          `the record could not be written for ${patienceMilliseconds / 1000} s: ${failure.what}`,
          options.studyPath,
          failure.code === 'disk-full'
            ? 'Free some space, then go on with it: --resume.'
            : 'Check the disk, the file and their permissions, then go on with it: --resume.',
        ),
      );
    },
  });
  const onDisk: Disk = {
    onRefusal(fail) {
      refuse = fail;
    },
    onCommit: () => patience.succeeded(),
  };
  return withEnd(
    async () => {
      const unfinished = options.resume ? await findUnfinished(study) : null;
      const plan = planRehearsal(options, unfinished);
      const stage = await setStage(plan);
      const played = await withEnd(() => playTrial(options, plan, stage, study, unfinished, onDisk), stage.strike);
      // Where the study is: another file may have taken its place.
      const record = readTrial(study.path, played.trial);
      const method = readPlannedMethod(study.path, played.trial);
      const assessment = assess(record, method);
      const stored = await study.storeAssessment({
        trial: played.trial,
        method,
        program: programVersion,
        cells: assessment.cells,
        details: assessment,
      });
      return {
        trial: played.trial,
        trialSeconds: played.trialSeconds,
        seal: played.seal,
        counts: { ...countRecord(record), links: played.seal.count },
        bytes: countBytes(record, readWire(study.path, played.trial), played.live),
        scenario: plan.scenario,
        seed: plan.seed,
        wire: plan.wire,
        truthPath: plan.truthPath,
        realSeconds: Number(process.hrtime.bigint() - startedAt) / 1e9,
        assessmentId: stored.assessment,
        assessment,
        cells: joinTruth(record, assessment, openTruth(plan.truthPath)),
      };
    },
    () => study.close(),
  );
}

/** What a trial has to do with a disk that refuses. */
interface Disk {
  /** Takes what ends the trial when the disk has refused for too long. */
  onRefusal(fail: (error: Error) => void): void;
  onCommit(): void;
}

/** A hold in which the subject's stop is not heard is waited for, one try a second. */
const mostTriesToGoOn = 300;

type PlayedTrial = Pick<RehearsalResult, 'trial' | 'trialSeconds' | 'seal'> & { readonly live: LiveAccount };

async function playTrial(
  options: RehearsalOptions,
  plan: RehearsalPlan,
  stage: Stage,
  study: StudyRecorder,
  unfinished: UnfinishedTrial | null,
  disk: Disk,
): Promise<PlayedTrial> {
  const { rig, series } = unfinished === null ? stage.rig : readTrial(options.studyPath, plan.trial);
  const schedule = compileSchedule(series, rig);
  const clock = createTrialClock({
    source: stage.clock,
    bootId: newIdentifier('boot'),
    wallNow: () => new Date(),
    segment: plan.segment,
    reason: unfinished === null ? 'start' : 'restart',
    beginsAtMicroseconds: plan.beginsAtMicroseconds,
  });
  const recorder = await openRecorder(options, plan, stage, study, unfinished, clock.segment);
  const machine = restoreMachine(plan.events, schedule);
  const session = createTrialSession({
    rig,
    series,
    schedule,
    clock,
    acquire: (sink) =>
      createAcquisition({
        rig,
        clock: stage.clock,
        lines: stage.lines,
        sink,
        openTransport: (instrument) => stage.rig.open(instrument, stage.clock.now),
        longestRetrySeconds: 2,
      }),
    machine: stage.machine,
    recorder,
    limits: {
      heartRate:
        rig.heartRate === null
          ? null
          : { instrument: rig.heartRate, stream: 'heart-rate', highest: options.heartRateLimit, clearBelow: 5 },
      watched: rig.watch ?? [],
      contacts: contactsOf(rig, describeStreams(rig)),
      contactClearSeconds: 5,
    },
    resume:
      machine === null || unfinished === null
        ? null
        : {
            machine,
            lostAtMicroseconds: unfinished.throughMicroseconds,
            alarms: alarmsOfRecord(plan.events),
          },
    onCue: ({ cue, exercise }) => stage.rig.cue({ cue, exercise }),
    onEvent: watchHolds({
      trial: plan.trial,
      timers: stage.clock,
      goOn: () => goOn(),
      close: () => close(),
      onGivenUp: (error) => giveUp(error),
    }),
  });
  stage.rig.onCable((change) => {
    if (change.state === 'back') session.retry(change.instrument);
  });
  recorder.onAcknowledged(({ link, throughMicroseconds }) => {
    disk.onCommit();
    const step = schedule.steps[session.machine.cursor.step];
    options.onProgress?.({
      trial: plan.trial,
      link,
      throughMicroseconds,
      exercise: step?.exercise ?? null,
      exerciseNumber: step?.exerciseIndex == null ? 0 : step.exerciseIndex + 1,
      exercises: schedule.exercises.length,
    });
  });
  const gate = createDiskGate(recorder, () => clock.segment.beginsAtMicroseconds);
  /** Ends the trial where time is virtual and waits at the gate, and where it is real and waits for nothing. */
  let giveUp: (error: Error) => void = () => undefined;
  const interrupted = new Promise<never>((_resolve, reject) => {
    giveUp = (error) => {
      gate.fail(error);
      reject(error);
    };
    disk.onRefusal(giveUp);
    options.interruption?.addEventListener('abort', () => {
      reject(
        new ChambersideError(
          'trial-not-finished',
          'the rehearsal was interrupted',
          plan.trial,
          'Go on with it: --resume.',
        ),
      );
    });
  });
  interrupted.catch(() => undefined);
  try {
    await stage.play(
      () => Promise.race([conduct(), interrupted]),
      (nextMicroseconds) => gate.pass(clock.toTrialTime(nextMicroseconds)),
    );
  } catch (error) {
    // What ended the trial is what is told, not what follows from it.
    await session.end().catch(() => undefined);
    // What was handed over gets its chance to reach the disk; a disk that refuses is not waited for.
    await Promise.race([
      recorder.abandon().catch(() => undefined),
      new Promise((resolve) => setTimeout(resolve, 2_000)),
    ]);
    throw error;
  } finally {
    gate.end();
  }

  function goOn(triesLeft = mostTriesToGoOn): void {
    if (session.machine.phase !== 'held') return;
    const outcome = session.command('go-on', options.operator, 'rehearsal: subject in place and fit');
    if (outcome.accepted) return;
    if (triesLeft > 0) stage.clock.after(toMicroseconds(1), () => goOn(triesLeft - 1));
    else giveUp(new ChambersideError('trial-not-finished', outcome.reason, plan.trial, 'Mend it, then: --resume.'));
  }

  function close(): void {
    if (session.machine.phase === 'stopped') session.command('close', options.operator, 'rehearsal');
  }

  async function conduct(): Promise<void> {
    await session.begin();
    if (session.machine.phase === 'prepared') {
      await awaitStop(session, stage.clock, plan.trial);
      session.command('start', options.operator, 'rehearsal');
    }
    // Held or stopped before the host was lost: no event of this session says so.
    if (machine?.phase === 'held') stage.clock.after(toMicroseconds(goOnAfterSeconds), goOn);
    if (machine?.phase === 'stopped') close();
    await session.finished;
    await session.end();
  }

  const trialSeconds = toSeconds(clock.now());
  const accounted = Object.fromEntries(
    rig.instruments.map(({ instrument }) => [instrument, session.bytes(instrument).accounted] as const),
  );
  // A disk that refuses at the very end would be waited for as long as it refuses.
  const seal = await Promise.race([recorder.seal(), interrupted]);
  return { trial: plan.trial, trialSeconds, seal, live: { fromMicroseconds: plan.beginsAtMicroseconds, accounted } };
}

async function openRecorder(
  options: RehearsalOptions,
  plan: RehearsalPlan,
  stage: Stage,
  study: StudyRecorder,
  unfinished: UnfinishedTrial | null,
  segment: Parameters<StudyRecorder['resumeTrial']>[1],
): Promise<TrialRecorder> {
  if (unfinished !== null) return study.resumeTrial(plan.trial, segment);
  const { rig, series } = stage.rig;
  return study.createTrial({
    header: {
      trial: plan.trial,
      study: study.identity.study,
      subject: options.subject,
      ensemble: options.ensemble,
      operator: options.operator,
      virtual: true,
      program: programVersion,
      rehearsal: { scenario: plan.scenario, seed: plan.seed },
      ...(options.requirementPercent === undefined ? {} : { requirementPercent: options.requirementPercent }),
    },
    rig,
    series,
    method: methodForRig(rig),
    streams: describeStreams(rig),
    instruments: rig.instruments.map(({ instrument, kind, dialect }) => ({
      instrument,
      kind,
      dialect,
      connection: connectionLabel(stage, instrument),
    })),
    segment,
  });
}

function connectionLabel(stage: Stage, instrument: string): string {
  const connection = stage.rig.connections.get(instrument);
  if (connection === undefined) return 'not connected';
  switch (connection.transport) {
    case 'serial':
      return `serial ${connection.path} at ${connection.baudRate}`;
    case 'tcp':
      return `tcp ${connection.host}:${connection.port}`;
    case 'in-process':
      return `in-process ${connection.name}`;
  }
}
