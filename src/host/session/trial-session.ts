import type { PortSelector } from '../../device/driver.ts';
import type { Cancel } from '../../device/timers.ts';
import type { Reading } from '../../model/reading.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import { microsecondsPerSecond, toMicroseconds } from '../../model/time.ts';
import type { TrialEvent, TrialEventOf } from '../../model/trial-event.ts';
import { isPressedStop, stopName, stopState } from '../../safety/contacts.ts';
import type { StopState } from '../../safety/contacts.ts';
import type { Alarm, SafetyLimits } from '../../safety/limits.ts';
import type { Schedule } from '../../series/schedule.ts';
import type { TrialAction } from '../../trial/machine-seam.ts';
import type { TrialMachine } from '../../trial/machine-state.ts';
import type { Acquisition, AcquisitionSink, ByteAccount } from '../acquisition/acquisition.ts';
import type { MachineTime } from '../clock/machine-time.ts';
import type { TrialClock } from '../clock/trial-clock.ts';
import { watchWake, type TimeLoss, type WakeWatch } from '../clock/wake-watch.ts';
import { createConductor, type CommandOutcome, type Cue } from '../conductor/conductor.ts';
import { watchSafety } from '../conductor/safety-watch.ts';
import type { TrialRecorder } from '../store/contract.ts';
import { watchCommits, type CommitWatch } from './commit-watch.ts';
import { describeLoss } from './describe-loss.ts';

/** Totals since the session began. */
export interface SessionCounts {
  readonly readings: number;
  /** What instruments did wrong, a port that the valve did not confirm included. */
  readonly problems: number;
  readonly events: number;
  readonly dwells: number;
  readonly alarms: number;
}

/**
 * One trial under way. A reading goes through safety, record, conductor, onlookers, in that order and by plain
 * calls; everything that decides is pure and elsewhere. This is where time, bytes and disk meet it.
 */
export interface TrialSession {
  readonly machine: TrialMachine;
  readonly alarms: readonly Alarm[];
  /** Whether the subject can stop the trial by a contact. */
  readonly stop: StopState;
  readonly counts: SessionCounts;
  /** Begins the acquisition and the record. Resolves when all instruments are connected. */
  begin(): Promise<void>;
  /**
   * `exercise`: for `repeat` and `skip`, the one meant; left out, the one under way or next. While the trial stands,
   * nothing sets the subject in motion unless every stop contact of the rig is heard and at rest.
   */
  command(action: TrialAction, person: string, note: string, exercise?: string): CommandOutcome;
  /** @param person code of who has seen it. @param reason what they say of it; may be empty. */
  acknowledgeAlarm(alarm: string, instrument: string | null, person: string, reason: string): CommandOutcome;
  /**
   * A cause that the host watches beside the trial begins, or is gone: raised, cleared and recorded like any alarm.
   * @returns false when the session has ended: nothing is recorded any more.
   */
  observeCondition(alarm: string, instrument: string | null, standing: boolean, detail: string): boolean;
  /**
   * Records what a person noted of this moment.
   * @param windowOffsetMicroseconds clock of the window in which it was noted, minus that of the host, where known.
   */
  noteMark(person: string, note: string, windowOffsetMicroseconds?: number): CommandOutcome;
  /** Records an answer to the list of before the start. Whether it can be taken is the caller's to see. */
  noteBefore(answer: Omit<TrialEventOf<'before-answered'>, 'kind' | 'atMicroseconds'>): CommandOutcome;
  /** Records an answer to the list of after the trial, also when the trial is closed and not yet sealed. */
  noteAfter(answer: Omit<TrialEventOf<'after-answered'>, 'kind' | 'atMicroseconds'>): CommandOutcome;
  /** Records that a person turned the valve by hand. */
  noteValve(port: number, person: string): CommandOutcome;
  /**
   * Resolves when the trial is closed and the air that was on its way to the photometer has been read; rejects when
   * the session cannot go on (a defect: nothing else ends it).
   */
  readonly finished: Promise<void>;
  /** Rejects as `finished` does, also later; never resolves. */
  readonly failed: Promise<never>;
  isConnected(instrument: string): boolean;
  bytes(instrument: string): ByteAccount;
  /** Tries a lost instrument again at once. */
  retry(instrument: string): void;
  /** Ends acquisition, safety and conductor and hands over what is open. Neither seals nor abandons the trial. */
  end(): Promise<void>;
}

/**
 * The instruments as one trial has them. Begun and ended with the session; whether that opens and closes ports, or
 * only joins and leaves an acquisition that serves several trials, is no matter of the session.
 */
export type TrialAcquisition = Pick<
  Acquisition,
  'streams' | 'begin' | 'connected' | 'selector' | 'isConnected' | 'bytes' | 'retry' | 'end'
>;

export interface TrialSessionOptions {
  readonly rig: Rig;
  readonly series: Series;
  readonly schedule: Schedule;
  readonly clock: TrialClock;
  /**
   * Gives the instruments of this rig, which will tell this sink what they deliver, numbered as the trial numbers it.
   * Stamps, those of the valve's answers included, are readings of the source clock of the trial clock, taken on
   * arrival; the session turns them into trial time.
   */
  readonly acquire: (sink: AcquisitionSink) => TrialAcquisition;
  /**
   * The machine's clocks, their monotonic one being the source of the trial clock: then a loss of time holds the
   * trial, and a commit that is overdue raises an alarm. Null under a virtual clock, which stands still with the
   * machine and waits for the disk.
   */
  readonly machine: MachineTime | null;
  readonly recorder: TrialRecorder;
  readonly limits: Omit<SafetyLimits, 'streams'>;
  /** State to go on from, held as of the loss of the host; null for a new trial. */
  readonly resume: {
    readonly machine: TrialMachine;
    readonly lostAtMicroseconds: number;
    /** What stood or waited to be seen at the end of the record: it waits on. */
    readonly alarms: readonly Alarm[];
  } | null;
  readonly onCue?: (cue: Cue) => void;
  /** After it has been handed to the record. */
  readonly onEvent?: (event: TrialEvent) => void;
  readonly onReading?: (streamIndex: number, reading: Reading) => void;
}

/** Readings beyond the last window, s: the window's ends are averaged over neighbours. */
const lastAirMarginSeconds = 1;

/** In which the ports of a trial that is taken up may still be opening, µs. */
const openingMicroseconds = 5_000_000;

/** Actions after which the subject moves, or soon will. */
const setsInMotion: ReadonlySet<TrialAction> = new Set<TrialAction>(['start', 'go-on', 'repeat', 'skip']);

const barOfStop: Readonly<Record<StopState, string | null>> = {
  none: null,
  armed: null,
  unheard: 'The stop contact of the subject has not been heard yet.',
  lost: 'The stop contact of the subject is not heard.',
  pressed: 'The stop of the subject is pressed: have it let go.',
};

const ended = { accepted: false, reason: 'The session of this trial has ended.' } as const;

/** @throws what `acquire` throws. */
export function createTrialSession(options: TrialSessionOptions): TrialSession {
  const { rig, series, schedule, clock, recorder } = options;
  const counts = { readings: 0, problems: 0, events: 0, dwells: 0, alarms: 0 };
  let cancelSecond: Cancel | undefined;
  let isOver = false;
  let beganAtMicroseconds = clock.now();
  let wake: WakeWatch | undefined;
  let commits: CommitWatch | undefined;
  let fail: (error: unknown) => void = () => undefined;
  const failed = new Promise<never>((_resolve, reject) => {
    fail = reject;
  });
  // A failure before anybody waits for `finished` must not end the process.
  failed.catch(() => undefined);

  /** A trial that is taken up parks its valve at once, while ports are still being opened: it is asked again soon. */
  const isOpening = (): boolean =>
    options.resume !== null &&
    !acquisition.isConnected(rig.selectorValve) &&
    clock.now() < beganAtMicroseconds + openingMicroseconds;

  const record = (event: TrialEvent): void => {
    recorder.event(event);
    counts.events += 1;
    if (event.kind === 'dwell-began') counts.dwells += 1;
    if (event.kind === 'alarm-raised') counts.alarms += 1;
    options.onEvent?.(event);
    if (event.kind === 'port-unconfirmed') {
      counts.problems += 1;
      if (!isOpening()) safety.observePort(event.atMicroseconds, rig.selectorValve, false, event.detail);
    }
    if (event.kind === 'port-acknowledged') safety.observePort(event.atMicroseconds, rig.selectorValve, true, '');
  };

  const acquisition = options.acquire({
    wire(instrumentIndex, direction, atMicroseconds, bytes) {
      // First of all: what comes after a loss of time belongs to the segment after it.
      wake?.check();
      recorder.wire(instrumentIndex, direction, clock.toTrialTime(atMicroseconds), bytes);
    },
    reading(streamIndex, arrived) {
      const reading = { ...arrived, atMicroseconds: clock.toTrialTime(arrived.atMicroseconds) };
      safety.observeReading(reading);
      recorder.reading(streamIndex, reading.atMicroseconds, reading.value);
      counts.readings += 1;
      conductor.observeReading(reading);
      if (isPressedStop(reading, options.limits.contacts)) stopBySubject(reading);
      options.onReading?.(streamIndex, reading);
    },
    problem(arrived) {
      wake?.check();
      const problem = { ...arrived, atMicroseconds: clock.toTrialTime(arrived.atMicroseconds) };
      safety.observeProblem(problem);
      counts.problems += 1;
      record({ kind: 'problem', atMicroseconds: problem.atMicroseconds, problem });
    },
  });

  const safety = watchSafety({
    clock,
    limits: { ...options.limits, streams: acquisition.streams },
    alarms: options.resume?.alarms ?? [],
    onEvent: record,
    onFailure: (error) => fail(error),
  });

  const conductor = createConductor({
    clock,
    series,
    rig,
    schedule,
    selector: () => inTrialTime(acquisition.selector(), clock),
    record,
    beforeInput: () => wake?.check(),
    ...(options.onCue === undefined ? {} : { onCue: options.onCue }),
    onFailure: (error) => fail(error),
  });

  /** Before the start nobody is inside: a press is then the trial of the stop, and bars the start. */
  const stopBySubject = ({ instrument, stream }: Reading): void => {
    const { phase } = conductor.machine;
    if (phase !== 'running' && phase !== 'held') return;
    const note = `The subject pressed stop: ${stopName(stream)}.`;
    conductor.stopByContact(note, { source: 'contact', instrument, stream });
  };

  const stopNow = (): StopState => stopState(safety.state, options.limits.contacts);

  /** Why the subject may not be set in motion now; null when they may. */
  const barToMotion = (action: TrialAction): string | null => {
    const { phase } = conductor.machine;
    if (!setsInMotion.has(action) || (phase !== 'prepared' && phase !== 'held')) return null;
    return barOfStop[stopNow()];
  };

  /** A new segment where the monotonic clock stood still, what was lost into the record, and the trial held. */
  const takeLoss = (loss: TimeLoss): void => {
    const lostAtMicroseconds = clock.toTrialTime(loss.lostAtMicroseconds);
    if (loss.sleptMicroseconds > 0) {
      const segment = clock.beginSegment('wake', clock.now() + loss.sleptMicroseconds);
      recorder.beginSegment(segment);
      record({ kind: 'segment-began', atMicroseconds: segment.beginsAtMicroseconds, segment });
    }
    const { cause, evidence, lostMicroseconds } = loss;
    record({ kind: 'time-lost', atMicroseconds: clock.now(), cause, evidence, lostAtMicroseconds, lostMicroseconds });
    const detail = describeLoss(loss);
    // The cause is over when it is noticed; the alarm stays until somebody has seen it.
    safety.observeCondition('time-lost', true, detail);
    safety.observeCondition('time-lost', false, 'The program runs again.');
    commits?.forgive();
    conductor.interrupt(lostAtMicroseconds, detail);
  };

  const watchMachine = (machine: MachineTime): void => {
    wake = watchWake({
      machine,
      onLoss: takeLoss,
      onWallStep: (byMicroseconds) => record({ kind: 'wall-clock-set', atMicroseconds: clock.now(), byMicroseconds }),
      onFailure: (error) => fail(error),
    });
    commits = watchCommits({
      clock: machine.clock,
      recorder,
      onChange(overdue) {
        const detail = overdue ? 'What was recorded is not on the disk after 3 s.' : 'Everything is on the disk again.';
        safety.observeCondition('commit-late', overdue, detail);
      },
      onFailure: (error) => fail(error),
    });
  };

  const handOverEachSecond = (): void => {
    const boundary = (Math.floor(clock.now() / microsecondsPerSecond) + 1) * microsecondsPerSecond;
    cancelSecond = clock.at(boundary, () => {
      try {
        recorder.handOver(boundary);
        commits?.handedOver(boundary);
      } catch (error) {
        fail(error);
        return;
      }
      if (!isOver) handOverEachSecond();
    });
  };

  /** The last window lies behind the end of its dwell by the way from the valve to the photometer. */
  const lastAirRead = async (): Promise<void> => {
    await conductor.finished;
    if (isOver) return;
    const seconds = rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value + lastAirMarginSeconds;
    await new Promise<void>((resolve) => {
      clock.after(toMicroseconds(seconds), resolve);
    });
  };

  const finished = Promise.race([lastAirRead(), failed]);
  // Whoever begins a session may wait for other things first.
  finished.catch(() => undefined);

  return {
    get machine() {
      return conductor.machine;
    },
    get alarms() {
      return safety.state.alarms;
    },
    get stop() {
      return stopNow();
    },
    counts,
    async begin() {
      beganAtMicroseconds = clock.now();
      handOverEachSecond();
      if (options.machine !== null) watchMachine(options.machine);
      if (options.resume !== null) {
        safety.forgetCauses('The program was interrupted; everything is watched anew.');
        conductor.resumeFrom(options.resume.machine, options.resume.lostAtMicroseconds);
      }
      acquisition.begin();
      await acquisition.connected();
    },
    command(action, person, note, exercise) {
      const reason = barToMotion(action);
      return reason === null ? conductor.command(action, person, note, exercise) : { accepted: false, reason };
    },
    acknowledgeAlarm(alarm, instrument, person, reason) {
      if (isOver) return ended;
      wake?.check();
      if (safety.acknowledge(alarm, instrument, person, reason)) return { accepted: true };
      const whose = instrument === null ? '' : ` of ${instrument}`;
      return { accepted: false, reason: `No alarm ${alarm}${whose} waits to be acknowledged.` };
    },
    observeCondition(alarm, instrument, standing, detail) {
      if (isOver) return false;
      safety.observeCondition(alarm, standing, detail, instrument);
      return true;
    },
    noteMark(person, note, windowOffsetMicroseconds) {
      if (isOver) return ended;
      wake?.check();
      const offset = windowOffsetMicroseconds === undefined ? {} : { windowOffsetMicroseconds };
      record({ kind: 'mark-noted', atMicroseconds: clock.now(), person, note, ...offset });
      return { accepted: true };
    },
    noteBefore(answer) {
      if (isOver) return ended;
      wake?.check();
      record({ kind: 'before-answered', atMicroseconds: clock.now(), ...answer });
      return { accepted: true };
    },
    noteAfter(answer) {
      if (isOver) return ended;
      wake?.check();
      record({ kind: 'after-answered', atMicroseconds: clock.now(), ...answer });
      return { accepted: true };
    },
    noteValve(port, person) {
      if (isOver) return ended;
      wake?.check();
      record({ kind: 'valve-by-hand', atMicroseconds: clock.now(), port, person });
      return { accepted: true };
    },
    finished,
    failed,
    isConnected: (instrument) => acquisition.isConnected(instrument),
    bytes: (instrument) => acquisition.bytes(instrument),
    retry: (instrument) => acquisition.retry(instrument),
    async end() {
      if (isOver) return;
      isOver = true;
      cancelSecond?.();
      wake?.end();
      commits?.end();
      await conductor.end();
      await acquisition.end();
      safety.end();
      recorder.handOver(clock.now());
    },
  };
}

/** A valve whose answers carry trial time. */
function inTrialTime(selector: PortSelector | undefined, clock: TrialClock): PortSelector | undefined {
  if (selector === undefined) return undefined;
  return {
    async select(port, cancellation) {
      const { atMicroseconds } = await selector.select(port, cancellation);
      return { atMicroseconds: clock.toTrialTime(atMicroseconds) };
    },
    async position(cancellation) {
      const { port, atMicroseconds } = await selector.position(cancellation);
      return { port, atMicroseconds: clock.toTrialTime(atMicroseconds) };
    },
  };
}
