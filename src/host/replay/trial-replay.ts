import type { AlarmView, InstrumentState, RigState } from '../../bridge/snapshot.ts';
import type { TrialSnapshot } from '../../bridge/trial-snapshot.ts';
import { breathFlowOf } from '../../leakage/breathing-zone.ts';
import { certifiedRig } from '../../leakage/certified.ts';
import { beginProvisional } from '../../leakage/provisional.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Method } from '../../model/method.ts';
import { segmentAt } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import { streamOf } from '../../model/trial-record.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import type { WatchedContact } from '../../safety/contacts.ts';
import type { Alarm } from '../../safety/limits.ts';
import { compileSchedule } from '../../series/compile.ts';
import type { Schedule } from '../../series/schedule.ts';
import { afterLines } from '../../trial/after.ts';
import { beforeLines } from '../../trial/before.ts';
import { createMachineFollower } from '../../trial/follow.ts';
import { watchedLimits } from '../runtime/limits.ts';
import { createProvisionalTracker } from '../runtime/provisional-tracker.ts';
import { alarmViews, momentOf } from '../runtime/view/alarms.ts';
import { tellStory } from '../runtime/view/trial-story.ts';
import { measuredDrift, offersAfterList } from '../runtime/after-list.ts';
import { trialView } from '../runtime/view/trial.ts';

/** What windows would have seen of a trial at one moment. */
export interface ReplayedMoment {
  readonly view: TrialSnapshot;
  readonly rig: RigState;
  readonly alarms: AlarmView[];
}

/** A recorded trial that can be looked at as of any moment. */
export interface TrialReplay {
  /** Of what is recorded last, µs. */
  readonly endsAtMicroseconds: number;
  /** As of a moment of trial time, µs. Going on is quick, going back begins anew. */
  at(atMicroseconds: number): ReplayedMoment;
  /** Readings of a stream that arrived in [from, to). */
  readings(
    stream: number,
    fromMicroseconds: number,
    toMicroseconds: number,
  ): { readonly times: Float64Array; readonly values: Float64Array };
}

/** Between two looks at the leakage so far while time is made up for, µs: results come from whole dwells anyway. */
const lookMicroseconds = 2_000_000;

/**
 * Builds a replay by the same story, views and leakage that a trial under way is shown with. Pure.
 * @param file name of the study inside the folder, for the view.
 * @throws ChambersideError `record-insufficient` when the photometer's stream is missing, and as `compileSchedule`.
 */
export function createTrialReplay(file: string, record: TrialRecord, method: Method): TrialReplay {
  const { events, rig, series, streams } = record;
  const schedule = compileSchedule(series, rig);
  if (streamOf(record, rig.photometer, rig.photometerStream) === undefined) {
    throw new ChambersideError(
      'record-insufficient',
      'the record has no stream of the photometer',
      record.header.trial,
      'Check that the right trial was chosen.',
    );
  }
  const lastReading = streams.map(({ atMicroseconds }) => atMicroseconds.at(-1) ?? 0);
  const lastEvent = events.reduce((last, event) => Math.max(last, event.atMicroseconds), 0);
  const endsAtMicroseconds = Math.ceil(Math.max(lastEvent, ...lastReading));
  let state = begin(file, record, method, schedule);

  const readings: TrialReplay['readings'] = (stream, from, to) => {
    const { atMicroseconds, values } = streams[stream] ?? { atMicroseconds: none, values: none };
    const first = firstAtOrAfter(atMicroseconds, from);
    const end = Math.max(first, firstAtOrAfter(atMicroseconds, to));
    return { times: atMicroseconds.slice(first, end), values: values.slice(first, end) };
  };
  return {
    endsAtMicroseconds,
    at(wanted) {
      const at = Math.max(0, Math.min(endsAtMicroseconds, Math.round(wanted)));
      if (at < state.nowMicroseconds) state = begin(file, record, method, schedule);
      state.goOn(at);
      return state.moment();
    },
    readings,
  };
}

const none = new Float64Array(0);

interface Playing {
  readonly nowMicroseconds: number;
  goOn(toMicroseconds: number): void;
  moment(): ReplayedMoment;
}

function begin(file: string, record: TrialRecord, method: Method, schedule: Schedule): Playing {
  const { events, header, rig, series, streams } = record;
  const photometer = streams.findIndex(
    ({ descriptor }) => descriptor.instrument === rig.photometer && descriptor.stream === rig.photometerStream,
  );
  const air = streams[photometer] as TrialRecord['streams'][number];
  const flow = breathFlowOf(record, rig);
  const descriptors = streams.map(({ descriptor }) => descriptor);
  const story = tellStory();
  const follower = createMachineFollower(schedule);
  const alarms = followAlarms();
  const limits = watchedLimits(rig, descriptors, header);
  const instruments = followInstruments(record);
  const segments = record.segments.slice(0, 1);
  const hasStop = limits.contacts.some(({ part }) => part === 'stop');
  const tracker = createProvisionalTracker({
    rig,
    certificates: header.certificates,
    method,
    stream: air.descriptor,
    breath: flow?.descriptor ?? null,
    segments: () => segments,
    state: beginProvisional(),
    firstDwell: 0,
  });
  let now = 0;
  let nextEvent = 0;
  let nextReading = 0;
  let nextBreath = 0;

  /** Everything up to and including a moment; events in the order in which they were recorded. */
  const takeUntil = (to: number): void => {
    while (nextEvent < events.length && (events[nextEvent] as TrialEvent).atMicroseconds <= to) {
      const event = events[nextEvent] as TrialEvent;
      nextEvent += 1;
      story.follow(event);
      follower.follow(event);
      alarms.follow(event);
      instruments.follow(event);
      if (event.kind === 'problem') tracker.observeProblem(event.problem);
      if (event.kind === 'segment-began' && !segments.some(({ segment }) => segment === event.segment.segment))
        segments.push(event.segment);
    }
    while (nextReading < air.values.length && (air.atMicroseconds[nextReading] as number) <= to) {
      tracker.observeReading(air.atMicroseconds[nextReading] as number, air.values[nextReading] as number);
      nextReading += 1;
    }
    while (flow !== undefined && nextBreath < flow.values.length && (flow.atMicroseconds[nextBreath] as number) <= to) {
      tracker.observeBreath(flow.atMicroseconds[nextBreath] as number, flow.values[nextBreath] as number);
      nextBreath += 1;
    }
    now = to;
  };

  const wallOf = (at: number): string => {
    const segment = record.segments[Math.max(0, segmentAt(record.segments, at))];
    const milliseconds = (at - (segment?.beginsAtMicroseconds ?? 0)) / 1000;
    return new Date(Date.parse(segment?.wallAnchor ?? '1970-01-01T00:00:00Z') + milliseconds).toISOString();
  };

  return {
    get nowMicroseconds() {
      return now;
    },
    goOn(to) {
      while (now + lookMicroseconds < to) {
        takeUntil(now + lookMicroseconds);
        tracker.update(story.dwells, now);
      }
      takeUntil(to);
      tracker.update(story.dwells, now);
    },
    moment() {
      const counted = streams.map(({ atMicroseconds }) => firstAtOrAfter(atMicroseconds, now + 1));
      const view = trialView({
        file,
        header,
        rig,
        series,
        method,
        schedule,
        machine: follower.machine,
        story,
        provisional: tracker.state,
        running: tracker.running,
        dwellFlags: tracker.dwellFlags,
        newestReadingMicroseconds: tracker.newestReadingMicroseconds,
        intervalMicroseconds: (air.descriptor.expectedIntervalSeconds ?? 0) * 1e6,
        nowMicroseconds: now,
        ending: 'no',
        endingFailure: null,
        mayStart: false,
        readings: counted.reduce((sum, count) => sum + count, 0),
        heartRateLimit: limits.heartRate?.highest ?? null,
        subjectStop: stopOfRecord(limits.contacts, alarms.standing()),
        after: offersAfterList(follower.machine, schedule, story.entered)
          ? afterLines(story.after, {
              drift: measuredDrift({
                rig: certifiedRig(rig, header.certificates).rig,
                ...{ method, unit: air.descriptor.unit, phase: follower.machine.phase, dwells: story.dwells },
                ...{ provisional: tracker.state, nowMicroseconds: now },
              }),
            })
          : [],
        afterHolds: false,
        before: beforeLines(story.before, hasStop, header.certificates),
      });
      return {
        // Nobody acts on what has been: no hand is offered.
        view: { ...view, allowed: [] },
        rig: instruments.state(counted),
        alarms: alarmViews(alarms.standing(), momentOf(follower.machine, schedule), limits.watched, wallOf),
      };
    },
  };
}

/** Whether the subject could stop the trial by a contact, as the alarms of the record tell. */
function stopOfRecord(contacts: readonly WatchedContact[], alarms: readonly Alarm[]): TrialSnapshot['subjectStop'] {
  if (!contacts.some(({ part }) => part === 'stop')) return 'none';
  const stands = (name: string): boolean =>
    alarms.some(({ alarm, clearedAtMicroseconds }) => alarm === name && clearedAtMicroseconds === null);
  if (stands('subject-stop')) return 'pressed';
  return stands('stop-contact-lost') ? 'lost' : 'armed';
}

/** Alarms that stand, or have gone and had not been seen by anyone. */
function followAlarms() {
  let alarms: Alarm[] = [];
  const change = (event: { alarm: string; instrument: string | null }, to: Partial<Alarm>): void => {
    alarms = alarms
      .map((one) => (one.alarm === event.alarm && one.instrument === event.instrument ? { ...one, ...to } : one))
      .filter(({ acknowledged, clearedAtMicroseconds }) => !acknowledged || clearedAtMicroseconds === null);
  };
  return {
    follow(event: TrialEvent): void {
      if (event.kind === 'alarm-raised') {
        const { alarm, detail, instrument } = event;
        alarms = alarms.filter((one) => one.alarm !== alarm || one.instrument !== instrument);
        const at = { raisedAtMicroseconds: event.atMicroseconds, clearedAtMicroseconds: null };
        alarms.push({ alarm, instrument, detail, ...at, acknowledged: false });
      } else if (event.kind === 'alarm-cleared') {
        change(event, { clearedAtMicroseconds: event.atMicroseconds });
      } else if (event.kind === 'alarm-acknowledged') {
        change(event, { acknowledged: true });
      }
    },
    standing: (): readonly Alarm[] => alarms,
  };
}

/** Instruments and valve as the events tell of them. */
function followInstruments({ rig, streams }: TrialRecord) {
  const lost = new Map<string, string>();
  const reconnects = new Map<string, number>();
  const problems = new Map<string, number>();
  let valve: RigState['valve'] = {
    requestedPort: null,
    confirmedPort: null,
    state: 'unknown',
    answerMilliseconds: null,
  };
  let requestedAt = 0;
  const add = (counts: Map<string, number>, name: string): void => void counts.set(name, (counts.get(name) ?? 0) + 1);
  return {
    follow(event: TrialEvent): void {
      if (event.kind === 'problem') {
        const { code, detail, instrument } = event.problem;
        add(problems, instrument);
        if (code === 'connection-lost') lost.set(instrument, detail);
        if (code === 'connection-restored') {
          lost.delete(instrument);
          add(reconnects, instrument);
        }
      } else if (event.kind === 'port-requested') {
        requestedAt = event.atMicroseconds;
        valve = { ...valve, requestedPort: event.port, state: 'moving' };
      } else if (event.kind === 'port-acknowledged') {
        const answerMilliseconds = (event.atMicroseconds - requestedAt) / 1000;
        valve = { ...valve, confirmedPort: event.port, state: 'confirmed', answerMilliseconds };
      } else if (event.kind === 'port-unconfirmed') {
        valve = { ...valve, confirmedPort: null, state: 'unconfirmed' };
      }
    },
    state: (counted: readonly number[]): RigState => ({
      state: 'open',
      failure: null,
      rig,
      streams: streams.map(({ descriptor }) => descriptor),
      instruments: rig.instruments.map(
        ({ dialect, instrument, kind }): InstrumentState => ({
          instrument,
          kind,
          dialect,
          state: lost.has(instrument) ? 'lost' : 'live',
          connection: null,
          settings: null,
          detail: lost.get(instrument) ?? null,
          remarks: [],
          reconnects: reconnects.get(instrument) ?? 0,
          readings: streams.reduce(
            (sum, { descriptor }, index) => sum + (descriptor.instrument === instrument ? (counted[index] ?? 0) : 0),
            0,
          ),
          problems: problems.get(instrument) ?? 0,
          capture: null,
        }),
      ),
      valve,
      checks: { running: null, failure: null, results: [] },
      doubtfulCertificates: [],
      virtualRig: null,
    }),
  };
}

/** Index of the first element that is not less than `at`; the length when there is none. */
function firstAtOrAfter(ascending: Float64Array, at: number): number {
  let low = 0;
  let high = ascending.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((ascending[middle] as number) < at) low = middle + 1;
    else high = middle;
  }
  return low;
}
