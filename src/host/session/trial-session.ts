import type { LineFramerFactory } from '../../device/framing.ts';
import type { Cancel } from '../../device/timers.ts';
import type { Transport } from '../../device/transport.ts';
import type { Problem, Reading } from '../../model/reading.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import { microsecondsPerSecond, toMicroseconds } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import type { Alarm, SafetyLimits } from '../../safety/limits.ts';
import type { Schedule } from '../../series/schedule.ts';
import type { TrialAction } from '../../trial/machine-seam.ts';
import type { TrialMachine } from '../../trial/machine-state.ts';
import { createAcquisition, type ByteAccount } from '../acquisition/acquisition.ts';
import type { TrialClock } from '../clock/trial-clock.ts';
import { createConductor, type CommandOutcome, type Cue } from '../conductor/conductor.ts';
import { watchSafety } from '../conductor/safety-watch.ts';
import type { TrialRecorder } from '../store/contract.ts';

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
  readonly counts: SessionCounts;
  /** Opens the instruments and begins to record. Resolves when all are connected. */
  begin(): Promise<void>;
  /** `exercise`: for `repeat` and `skip`, the one meant; left out, the one under way or next. */
  command(action: TrialAction, person: string, note: string, exercise?: string): CommandOutcome;
  acknowledgeAlarm(alarm: string, instrument: string | null): void;
  /**
   * Resolves when the trial is closed and the air that was on its way to the photometer has been read; rejects when
   * the session cannot go on (a defect: nothing else ends it).
   */
  readonly finished: Promise<void>;
  isConnected(instrument: string): boolean;
  bytes(instrument: string): ByteAccount;
  /** Tries a lost instrument again at once. */
  retry(instrument: string): void;
  /** Ends instruments, safety and conductor and hands over what is open. Neither seals nor abandons the trial. */
  end(): Promise<void>;
}

export interface TrialSessionOptions {
  readonly rig: Rig;
  readonly series: Series;
  readonly schedule: Schedule;
  readonly clock: TrialClock;
  readonly lines: LineFramerFactory;
  /** Opens today's connection of an instrument, stamping with trial time; rejects while there is none. */
  readonly openTransport: (instrument: string) => Promise<Transport>;
  readonly recorder: TrialRecorder;
  readonly limits: Omit<SafetyLimits, 'streams'>;
  /** State to go on from, held as of the loss of the host; null for a new trial. */
  readonly resume: { readonly machine: TrialMachine; readonly lostAtMicroseconds: number } | null;
  /** Longest wait between attempts to reconnect, s. */
  readonly longestRetrySeconds: number;
  readonly onCue?: (cue: Cue) => void;
  /** After it has been handed to the record. */
  readonly onEvent?: (event: TrialEvent) => void;
  readonly onReading?: (streamIndex: number, reading: Reading) => void;
}

/** Readings beyond the last window, s: the window's ends are averaged over neighbours. */
const lastAirMarginSeconds = 1;

/** @throws ChambersideError `driver-unknown`, `configuration-invalid`. */
export function createTrialSession(options: TrialSessionOptions): TrialSession {
  const { rig, series, schedule, clock, recorder } = options;
  const counts = { readings: 0, problems: 0, events: 0, dwells: 0, alarms: 0 };
  let cancelSecond: Cancel | undefined;
  let ended = false;
  let fail: (error: unknown) => void = () => undefined;
  const failed = new Promise<never>((_resolve, reject) => {
    fail = reject;
  });
  // A failure before anybody waits for `finished` must not end the process.
  failed.catch(() => undefined);

  const record = (event: TrialEvent): void => {
    recorder.event(event);
    counts.events += 1;
    if (event.kind === 'dwell-began') counts.dwells += 1;
    if (event.kind === 'alarm-raised') counts.alarms += 1;
    options.onEvent?.(event);
    if (event.kind === 'port-unconfirmed') {
      counts.problems += 1;
      safety.observePort(event.atMicroseconds, rig.selectorValve, false, event.detail);
    }
    if (event.kind === 'port-acknowledged') safety.observePort(event.atMicroseconds, rig.selectorValve, true, '');
  };

  const acquisition = createAcquisition({
    rig,
    clock,
    lines: options.lines,
    openTransport: options.openTransport,
    longestRetrySeconds: options.longestRetrySeconds,
    sink: {
      wire: (instrumentIndex, direction, atMicroseconds, bytes) =>
        recorder.wire(instrumentIndex, direction, atMicroseconds, bytes),
      reading(streamIndex, reading) {
        safety.observeReading(reading);
        recorder.reading(streamIndex, reading.atMicroseconds, reading.value);
        counts.readings += 1;
        conductor.observeReading(reading);
        options.onReading?.(streamIndex, reading);
      },
      problem(problem: Problem) {
        safety.observeProblem(problem);
        counts.problems += 1;
        record({ kind: 'problem', atMicroseconds: problem.atMicroseconds, problem });
      },
    },
  });

  const safety = watchSafety({
    clock,
    limits: { ...options.limits, streams: acquisition.streams },
    onEvent: record,
    onFailure: (error) => fail(error),
  });

  const conductor = createConductor({
    clock,
    series,
    rig,
    schedule,
    selector: () => acquisition.selector(),
    record,
    ...(options.onCue === undefined ? {} : { onCue: options.onCue }),
    onFailure: (error) => fail(error),
  });

  const handOverEachSecond = (): void => {
    const boundary = (Math.floor(clock.now() / microsecondsPerSecond) + 1) * microsecondsPerSecond;
    cancelSecond = clock.at(boundary, () => {
      recorder.handOver(boundary);
      if (!ended) handOverEachSecond();
    });
  };

  /** The last window lies behind the end of its dwell by the way from the valve to the photometer. */
  const lastAirRead = async (): Promise<void> => {
    await conductor.finished;
    if (ended) return;
    const seconds = rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value + lastAirMarginSeconds;
    await new Promise<void>((resolve) => {
      clock.after(toMicroseconds(seconds), resolve);
    });
  };

  return {
    get machine() {
      return conductor.machine;
    },
    get alarms() {
      return safety.state.alarms;
    },
    counts,
    async begin() {
      handOverEachSecond();
      if (options.resume !== null) conductor.resumeFrom(options.resume.machine, options.resume.lostAtMicroseconds);
      acquisition.begin();
      await acquisition.connected();
    },
    command: (action, person, note, exercise) => conductor.command(action, person, note, exercise),
    acknowledgeAlarm: (alarm, instrument) => safety.acknowledge(alarm, instrument),
    finished: Promise.race([lastAirRead(), failed]),
    isConnected: (instrument) => acquisition.isConnected(instrument),
    bytes: (instrument) => acquisition.bytes(instrument),
    retry: (instrument) => acquisition.retry(instrument),
    async end() {
      if (ended) return;
      ended = true;
      cancelSecond?.();
      await conductor.end();
      await acquisition.end();
      safety.end();
      recorder.handOver(clock.now());
    },
  };
}
