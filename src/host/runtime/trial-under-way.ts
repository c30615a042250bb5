import type { AlarmView, Failure } from '../../bridge/snapshot.ts';
import type { TrialSnapshot } from '../../bridge/trial-snapshot.ts';
import type { Cancel } from '../../device/timers.ts';
import { breathStream } from '../../leakage/breathing-zone.ts';
import { beginProvisional } from '../../leakage/provisional.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Method } from '../../model/method.ts';
import type { Series } from '../../model/series.ts';
import { segmentAt, toSeconds } from '../../model/time.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { TrialEvent, TrialHeader } from '../../model/trial-event.ts';
import { alarmsOfRecord } from '../../safety/alarms-of-record.ts';
import type { Schedule } from '../../series/schedule.ts';
import type { AfterWanted } from '../../trial/after.ts';
import type { AnswerWanted } from '../../trial/before.ts';
import type { TrialAction } from '../../trial/machine-seam.ts';
import type { TrialMachine } from '../../trial/machine-state.ts';
import type { MachineTime } from '../clock/machine-time.ts';
import type { TrialClock } from '../clock/trial-clock.ts';
import { wallTimeIn } from '../clock/wall-time.ts';
import type { RecalledTrial } from '../compute/jobs.ts';
import type { Cue } from '../conductor/conductor.ts';
import { createTrialSession } from '../session/trial-session.ts';
import type { CommitFailure, TrialRecorder } from '../store/contract.ts';
import { watchAfterList } from './after-list.ts';
import { watchBeforeList } from './before-list.ts';
import { watchKept, type KeptWatch } from './kept-watch.ts';
import { watchedLimits } from './limits.ts';
import { breathingInstrument } from '../../model/rig.ts';
import type { OpenRig } from './open-rig.ts';
import { createProvisionalTracker } from './provisional-tracker.ts';
import { refusal } from './refusal.ts';
import { acquireOpenRig } from './trial-acquisition.ts';
import { watchConditions } from './trial-conditions.ts';
import { followToEnd, type TrialEndingOptions } from './trial-ending.ts';
import { alarmViews, momentOf } from './view/alarms.ts';
import { tellStory } from './view/trial-story.ts';
import { trialView } from './view/trial.ts';

export interface TrialUnderWayOptions {
  readonly file: string;
  readonly header: TrialHeader;
  readonly rig: OpenRig;
  readonly series: Series;
  readonly schedule: Schedule;
  readonly method: Method;
  readonly clock: TrialClock;
  readonly machine: MachineTime;
  readonly recorder: TrialRecorder;
  /** For a trial that is taken up again. */
  readonly resume: {
    readonly recalled: RecalledTrial;
    readonly machine: TrialMachine | null;
    readonly lostAtMicroseconds: number;
  } | null;
  readonly finish: TrialEndingOptions['finish'];
  readonly abandon: TrialEndingOptions['abandon'];
  readonly onCue: (cue: Cue) => void;
  readonly onChange: () => void;
}

export interface TrialCommand {
  readonly action: TrialAction;
  readonly person: string;
  readonly note: string;
  readonly exercise: string | null;
  readonly windowOffsetMilliseconds: number | null;
}

/** The trial that this host records, from preparation until it is left. */
export interface TrialUnderWay {
  readonly header: TrialHeader;
  readonly file: string;
  readonly clock: TrialClock;
  readonly machine: TrialMachine;
  readonly ending: TrialSnapshot['ending'];
  /** What happens now is recorded: also after the end, while the list of after the trial is open. */
  readonly recording: boolean;
  /** It is closed, and recorded on until the list of after the trial is gone through. */
  readonly waitsForAfter: boolean;
  readonly alarms: AlarmView[];
  /** Zero when nothing is watched any more. */
  readonly limitsWatched: number;
  /** Age of the oldest data not on disk yet, s, and the disk's newest refusal; null when nothing is recorded. */
  readonly record: { readonly uncommittedSeconds: number; readonly failure: Failure | null } | null;
  /** End of what is on the disk, s of trial time. */
  readonly recordedSeconds: number;
  view(): TrialSnapshot;
  begin(): Promise<void>;
  /** @throws ChambersideError `action-refused`. */
  command(command: TrialCommand): void;
  /**
   * An answer to the list of before the start.
   * @throws ChambersideError `action-refused` when it cannot be taken.
   */
  answer(wanted: AnswerWanted): void;
  /**
   * An answer to the list of after the trial.
   * @throws ChambersideError `action-refused` when it cannot be taken.
   */
  answerAfter(wanted: AfterWanted): void;
  /** A person turns the valve while the trial stands: it is recorded. */
  noteValve(port: number, person: string): void;
  /** @throws ChambersideError `action-refused` when no such alarm waits. */
  acknowledge(alarm: string, instrument: string | null, person: string, reason: string): void;
  /** @returns whether it was taken into the record. */
  condition(alarm: string, instrument: string | null, standing: boolean, detail: string): boolean;
  readonly whenKept: KeptWatch['when'];
  diskRefused(failure: CommitFailure): void;
  /** The host ends: held when it runs, recorded to the last, and left unfinished. */
  interrupt(reason: string): Promise<void>;
}

const lookMicroseconds = 250_000;

/** @throws what `createTrialSession` throws. */
export function createTrialUnderWay(options: TrialUnderWayOptions): TrialUnderWay {
  const { clock, header, method, recorder, resume, schedule, series } = options;
  const { rig, streams } = options.rig;
  const recalled = resume?.recalled ?? null;
  const segments: TimeSegment[] = [...(recalled?.segments ?? []), clock.segment];
  const story = tellStory(recalled?.events);
  const stream = streams.find(
    (candidate) => candidate.instrument === rig.photometer && candidate.stream === rig.photometerStream,
  );
  if (stream === undefined) {
    throw new ChambersideError(
      'configuration-invalid',
      `the photometer has no stream ${rig.photometerStream}`,
      rig.name,
      'Correct the rig.',
    );
  }
  const breath = breathStream(rig, streams);
  const breathing = breathingInstrument(rig);
  if (breathing !== undefined && breath === null) {
    throw new ChambersideError(
      'configuration-invalid',
      `a probe lies in the breathing zone, and the instrument ${breathing} gives no flow of breath`,
      rig.name,
      'Connect an instrument with a stream flow, or say in the rig that no probe lies in the breathing zone.',
    );
  }
  const tracker = createProvisionalTracker({
    rig,
    certificates: header.certificates,
    method,
    stream,
    breath,
    segments: () => segments,
    state: recalled?.provisional ?? beginProvisional(),
    firstDwell: (recalled?.events ?? []).reduce(
      (next, event) => (event.kind === 'dwell-began' ? Math.max(next, event.dwell.dwell + 1) : next),
      0,
    ),
  });

  let diskFailure: Failure | null = null;
  let cancelLook: Cancel | undefined;

  const limits = watchedLimits(rig, streams, header);
  const session = createTrialSession({
    rig,
    series,
    schedule,
    clock,
    acquire: (sink) => acquireOpenRig(options.rig, sink),
    machine: options.machine,
    recorder,
    limits,
    resume:
      resume?.machine == null
        ? null
        : {
            machine: resume.machine,
            lostAtMicroseconds: resume.lostAtMicroseconds,
            alarms: alarmsOfRecord(resume.recalled.events),
          },
    onCue: options.onCue,
    onEvent(event: TrialEvent) {
      if (event.kind === 'segment-began' && !segments.some(({ segment }) => segment === event.segment.segment)) {
        segments.push(event.segment);
      }
      story.follow(event);
      if (event.kind === 'problem') tracker.observeProblem(event.problem);
      conditions.follow(event);
      options.onChange();
    },
    onReading(_stream, reading) {
      conditions.observeReading(reading);
      before.observeReading(reading);
      after.observeReading(reading);
      if (reading.instrument === rig.photometer && reading.stream === rig.photometerStream) {
        tracker.observeReading(reading.atMicroseconds, reading.value);
      }
      if (reading.instrument === breath?.instrument && reading.stream === breath.stream) {
        tracker.observeBreath(reading.atMicroseconds, reading.value);
      }
    },
  });
  const conditions = watchConditions({
    ...{ rig, method, contacts: limits.contacts },
    observe: session.observeCondition,
  });

  const before = watchBeforeList({ header, story, contacts: limits.contacts, session });
  const after = watchAfterList({
    ...{ header, rig, method, schedule, story, session, unit: stream.unit },
    provisional: () => tracker.state,
    now: () => clock.now(),
  });

  const look = (): void => {
    cancelLook = options.machine.clock.after(lookMicroseconds, look);
    tracker.update(story.dwells, clock.now());
    conditions.judge(session.machine, tracker, clock.now());
    options.onChange();
  };

  const unsubscribe = recorder.onAcknowledged(() => {
    if (diskFailure === null) return;
    diskFailure = null;
    session.observeCondition('disk-refused', null, false, 'The disk takes the record again.');
    options.onChange();
  });

  const kept = watchKept(recorder, () => clock.now());
  const ending = followToEnd({
    ...{ session, recorder, finish: options.finish, abandon: options.abandon, onChange: options.onChange },
    afterDone: () => after.done(),
    now: () => clock.now(),
    onStopped() {
      cancelLook?.();
      unsubscribe();
    },
    onLeft: () => {
      kept.all();
    },
  });

  const wallOf = (atMicroseconds: number): string => {
    const segment = segments[Math.max(0, segmentAt(segments, atMicroseconds))] ?? clock.segment;
    return wallTimeIn(segment, atMicroseconds);
  };
  const refuse = (outcome: ReturnType<typeof session.command>): void => {
    if (!outcome.accepted) throw refusal(outcome.reason, header.trial, 'Look at what the trial is doing now.');
  };

  return {
    header,
    file: options.file,
    clock,
    get machine() {
      return session.machine;
    },
    get ending() {
      return ending.state;
    },
    get recording() {
      return ending.recording && ending.state === 'no';
    },
    get waitsForAfter() {
      return ending.state === 'no' && session.machine.phase === 'closed' && after.holds;
    },
    get alarms() {
      return alarmViews(ending.alarms, momentOf(session.machine, schedule), limits.watched, wallOf);
    },
    get limitsWatched() {
      if (!ending.recording) return 0;
      const silences = streams.filter((each) => each.silenceLimitSeconds !== null).length;
      // The belt's contact, and the heart rate.
      const belt = (rig.heartRate === null ? 0 : 1) + (limits.heartRate === null ? 0 : 1);
      return conditions.count + silences + belt + limits.watched.length;
    },
    get record() {
      // A disk that refuses while the trial is sealed: that waits as well, and somebody has to know.
      if (!ending.recording && !(ending.state === 'sealing' && diskFailure !== null)) return null;
      // What lies between the loss of a host and its return is not waiting for the disk.
      const since = Math.max(recorder.acknowledged().throughMicroseconds, clock.segment.beginsAtMicroseconds);
      const open = clock.now() - since;
      return { uncommittedSeconds: Math.max(0, toSeconds(open)), failure: diskFailure };
    },
    get recordedSeconds() {
      return toSeconds(recorder.acknowledged().throughMicroseconds);
    },
    view: () =>
      trialView({
        file: options.file,
        header,
        rig,
        series,
        method,
        schedule,
        machine: session.machine,
        story,
        provisional: tracker.state,
        running: tracker.running,
        dwellFlags: tracker.dwellFlags,
        newestReadingMicroseconds: tracker.newestReadingMicroseconds,
        intervalMicroseconds: (stream.expectedIntervalSeconds ?? 0) * 1e6,
        nowMicroseconds: clock.now(),
        ending: ending.state,
        endingFailure: ending.failure,
        mayStart: options.rig.isConnected(rig.photometer) && options.rig.isConnected(rig.selectorValve),
        readings: session.counts.readings + (recalled?.readings ?? 0),
        heartRateLimit: limits.heartRate?.highest ?? null,
        subjectStop: session.stop,
        before: before.lines,
        after: after.lines,
        afterHolds: after.holds,
      }),
    async begin() {
      await session.begin();
      look();
      void ending.follow();
    },
    command({ action, person, note, exercise, windowOffsetMilliseconds }) {
      if (action === 'mark') {
        const offset = windowOffsetMilliseconds === null ? undefined : Math.round(windowOffsetMilliseconds * 1000);
        refuse(session.noteMark(person, note, offset));
        return;
      }
      if (action === 'start' || action === 'go-on') {
        for (const instrument of [rig.photometer, rig.selectorValve]) {
          if (options.rig.isConnected(instrument)) continue;
          throw refusal(`${instrument} is not connected`, header.trial, 'Connect it, then try again.');
        }
      }
      if (action === 'start') before.mustBeGoneThrough();
      refuse(session.command(action, person, note, exercise ?? undefined));
      options.onChange();
    },
    answer(wanted) {
      refuse(before.answer(wanted));
      options.onChange();
    },
    answerAfter(wanted) {
      const late = 'the trial is being sealed';
      if (ending.state !== 'no') throw refusal(late, header.trial, 'Nothing can be added to it.');
      refuse(after.answer(wanted));
      options.onChange();
    },
    noteValve(port, person) {
      // A trial that has come to its end records nothing more.
      session.noteValve(port, person);
      options.onChange();
    },
    acknowledge(alarm, instrument, person, reason) {
      if (!ending.acknowledgeLeft(alarm, instrument)) {
        refuse(session.acknowledgeAlarm(alarm, instrument, person, reason));
      }
      options.onChange();
    },
    condition(alarm, instrument, standing, detail) {
      const taken = ending.recording && session.observeCondition(alarm, instrument, standing, detail);
      options.onChange();
      return taken;
    },
    whenKept: kept.when,
    diskRefused(failure) {
      const { code, remedy, what } = failure;
      diskFailure = { code, what, where: options.file, remedy };
      if (ending.recording) session.observeCondition('disk-refused', null, true, `${what}. ${remedy}`);
      options.onChange();
    },
    interrupt: ending.interrupt,
  };
}
