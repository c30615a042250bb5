import { scenarios } from '../../drivers/virtual-rig/index.ts';
import { createLineFramer } from '../../drivers/registry.ts';
import { createAcquisition, describeStreams } from '../../src/host/acquisition/acquisition.ts';
import { createTrialClock } from '../../src/host/clock/trial-clock.ts';
import { createVirtualClock, type VirtualClock } from '../../src/host/clock/virtual-clock.ts';
import { awaitStop } from '../../src/host/rehearsal/await-stop.ts';
import { createDiskGate } from '../../src/host/rehearsal/disk-gate.ts';
import { createInProcessRig } from '../../src/host/rig/in-process-rig.ts';
import { createTruthFile } from '../../src/host/rig/truth-file.ts';
import {
  createTrialSession,
  type TrialSession,
  type TrialSessionOptions,
} from '../../src/host/session/trial-session.ts';
import type { TrialRecorder } from '../../src/host/store/contract.ts';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import { methodForRig } from '../../src/leakage/method-for-rig.ts';
import { makeIdentifier } from '../../src/model/identity.ts';
import type { TrialEvent } from '../../src/model/trial-event.ts';
import { contactsOf } from '../../src/safety/contacts.ts';
import { compileSchedule } from '../../src/series/compile.ts';
import { createFakeMachine, type FakeMachine } from './fake-machine.ts';

export interface PlayedSession {
  readonly clock: VirtualClock;
  readonly machine: FakeMachine;
  readonly session: TrialSession;
}

export interface SessionPlay {
  readonly path: string;
  readonly seed: number;
  /** How coarse the boot clock is; null: there is none. Default 10 ms. */
  readonly bootStepMicroseconds?: number | null;
  /** Before the trial is started. */
  readonly prepare?: (played: PlayedSession) => void;
  readonly onEvent?: (event: TrialEvent, played: PlayedSession) => void;
  /** When the trial is closed, before it is sealed. */
  readonly atEnd?: (played: PlayedSession) => void;
  readonly recorder?: (recorder: TrialRecorder) => TrialRecorder;
}

const identifierBytes = (first: number): Uint8Array => Uint8Array.from({ length: 12 }, (_, index) => first + index);

/**
 * The scenario `short` from start to seal, on a virtual clock that the session takes for the machine's: what a machine
 * does to a trial on real wires can be done to it. Whoever holds the trial, it goes on after 5 s.
 * The truth lies beside the study, its name with `.truth` behind it.
 */
export async function playShortTrial(play: SessionPlay): Promise<void> {
  const clock = createVirtualClock(7_000_000);
  const machine = createFakeMachine(clock, play.bootStepMicroseconds);
  const truth = createTruthFile(`${play.path}.truth`, clock.now, 'new');
  const stage = createInProcessRig({ scenario: scenarios.short, seed: play.seed, clock, truth });
  const { rig, series } = stage;
  const schedule = compileSchedule(series, rig);
  const trialClock = createTrialClock({
    source: clock,
    bootId: makeIdentifier('boot', identifierBytes(1)),
    wallNow: () => new Date(machine.wallNow() / 1000),
    segment: 0,
    reason: 'start',
    beginsAtMicroseconds: 0,
  });
  const hostId = makeIdentifier('host', identifierBytes(2));
  const study = await openStudyForRecording({ path: play.path, create: { studyName: 'Sleep' }, hostId });
  const acquire: TrialSessionOptions['acquire'] = (sink) =>
    createAcquisition({
      rig,
      clock,
      lines: createLineFramer,
      sink,
      openTransport: (instrument) => stage.open(instrument, clock.now),
      longestRetrySeconds: 2,
    });
  const made = await study.createTrial({
    header: {
      trial: makeIdentifier('trial', identifierBytes(3)),
      study: study.identity.study,
      subject: 'subject-1',
      ensemble: 'ensemble-1',
      operator: 'p1',
      virtual: true,
      program: 'test',
    },
    rig,
    series,
    method: methodForRig(rig),
    streams: acquire({ wire: () => undefined, reading: () => undefined, problem: () => undefined }).streams,
    instruments: rig.instruments.map(({ instrument, kind, dialect }) => ({
      instrument,
      kind,
      dialect,
      connection: `in-process ${instrument}`,
    })),
    segment: trialClock.segment,
  });
  const recorder = play.recorder?.(made) ?? made;
  const session: TrialSession = createTrialSession({
    rig,
    series,
    schedule,
    clock: trialClock,
    acquire,
    machine,
    recorder,
    limits: { heartRate: null, watched: [], contacts: contactsOf(rig, describeStreams(rig)), contactClearSeconds: 5 },
    resume: null,
    onCue: ({ cue, exercise }) => stage.cue({ cue, exercise }),
    onEvent(event) {
      if (event.kind === 'phase-changed' && event.to === 'held') {
        clock.after(5_000_000, () => session.command('go-on', 'p1', 'fit'));
      }
      play.onEvent?.(event, played);
    },
  });
  const played: PlayedSession = { clock, machine, session };
  const gate = createDiskGate(recorder, () => trialClock.segment.beginsAtMicroseconds);
  let done = false;
  const work = async (): Promise<void> => {
    try {
      await session.begin();
      play.prepare?.(played);
      await awaitStop(session, clock, 'short');
      session.command('start', 'p1', '');
      await session.finished;
      play.atEnd?.(played);
    } finally {
      await session.end();
      done = true;
    }
  };
  try {
    await Promise.all([work(), clock.run({ until: () => done, gate: (at) => gate.pass(trialClock.toTrialTime(at)) })]);
    await recorder.seal();
  } finally {
    gate.end();
    await stage.stop();
    truth.close();
    await study.close();
  }
}
