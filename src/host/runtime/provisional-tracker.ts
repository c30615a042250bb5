import type { DwellView } from '../../bridge/trial-snapshot.ts';
import { certifiedRig } from '../../leakage/certified.ts';
import { problemsOfReadings } from '../../leakage/dwell-reading.ts';
import type { Flag } from '../../leakage/flag.ts';
import { provisionalLeakage, readByMicroseconds, takeDwell } from '../../leakage/provisional.ts';
import type { ProvisionalContext, ProvisionalLeakage, ProvisionalState } from '../../leakage/provisional.ts';
import { prepareReadings } from '../../leakage/readings.ts';
import type { RecordedDwell } from '../../leakage/recorded-dwell.ts';
import type { Method } from '../../model/method.ts';
import type { Problem } from '../../model/reading.ts';
import type { Rig } from '../../model/rig.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import type { TimeSegment } from '../../model/time.ts';
import { createSampleRing } from '../samples/sample-ring.ts';

/** Follows the readings of a trial, and knows what each probe shows so far. */
export interface ProvisionalTracker {
  readonly state: ProvisionalState;
  /** What the probe dwell under way shows so far; null when there is none. */
  readonly running: ProvisionalLeakage | null;
  /** Flags of the dwells that have been read here, by number. */
  readonly dwellFlags: ReadonlyMap<number, readonly Flag[]>;
  readonly newestReadingMicroseconds: number | null;
  /**
   * What of the air that is measured could not be computed with, and why; null when there is nothing. It stands until a
   * whole dwell of the same air has been read since. The record is not touched by it.
   */
  readonly failure: string | null;
  /** Trial time. */
  observeReading(atMicroseconds: number, value: number): void;
  /** Flow of the subject's breath, for probes in the breathing zone. Trial time. */
  observeBreath(atMicroseconds: number, value: number): void;
  observeProblem(problem: Problem): void;
  /**
   * Takes in every dwell whose air has been read by now, and looks at the one under way. Never throws: what cannot be
   * computed now costs a live value and is told by `failure`; the trial and its record go on.
   */
  update(dwells: readonly DwellView[], nowMicroseconds: number): void;
}

/** Photometer readings that are kept to be read once more when their dwell is over, µs. */
const keepMicroseconds = 20 * 60 * 1_000_000;
/** Readings from before a dwell that tell what was in the line, µs. */
const beforeMicroseconds = 2_000_000;
/** Readings behind the end of a window: the last of them may come a little late, µs. */
const afterMicroseconds = 500_000;
/** Flow from before a dwell: half a minute around its window, on probe time, behind the longest way; µs. */
const breathBeforeMicroseconds = 60_000_000;
const mostProblems = 1_000;

export function createProvisionalTracker(options: {
  readonly rig: Rig;
  /** Frozen with the trial. */
  readonly certificates: TrialHeader['certificates'];
  readonly method: Method;
  /** Of the photometer. */
  readonly stream: StreamDescriptor;
  /** Flow of breath; null where no probe lies in the breathing zone. */
  readonly breath: StreamDescriptor | null;
  readonly segments: () => readonly TimeSegment[];
  readonly state: ProvisionalState;
  /** Dwells before this number are in the state already. */
  readonly firstDwell: number;
}): ProvisionalTracker {
  const { method, stream } = options;
  const { inputs: certified, linearity, rig } = certifiedRig(options.rig, options.certificates);
  const ring = createSampleRing(keepMicroseconds);
  const breaths = createSampleRing(keepMicroseconds);
  const problems: number[] = [];
  const dwellFlags = new Map<number, readonly Flag[]>();
  let { state } = options;
  let next = options.firstDwell;
  let running: ProvisionalLeakage | null = null;
  /** Why dwells could not be read, by what they are of. */
  const lost = new Map<string, string>();

  const contextOf = (fromMicroseconds: number, toMicroseconds: number): ProvisionalContext => {
    const { times, values } = ring.between(fromMicroseconds, toMicroseconds);
    const { breath } = options;
    const flow = breath === null ? null : breaths.between(fromMicroseconds - breathBeforeMicroseconds, toMicroseconds);
    return {
      rig,
      method,
      readings: prepareReadings({ descriptor: stream, atMicroseconds: times, values }),
      segments: options.segments(),
      problemsAtMicroseconds: problems,
      certified,
      ...(linearity === undefined ? {} : { linearity }),
      ...(breath === null || flow === null
        ? {}
        : { breathFlow: { descriptor: breath, atMicroseconds: flow.times, values: flow.values } }),
    };
  };
  const startOf = (dwell: DwellView): number =>
    (dwell.requestedAtMicroseconds ?? dwell.plannedAtMicroseconds) - beforeMicroseconds;

  /** @returns whether the dwell is done with. */
  const take = (dwell: DwellView, nowMicroseconds: number): boolean => {
    if (dwell.endedAtMicroseconds === null) {
      if (dwell.purpose !== 'probe' || dwell.acknowledgedAtMicroseconds === null) return false;
      const found = provisionalLeakage(state, contextOf(startOf(dwell), nowMicroseconds), recordedOf(dwell));
      mustBeFinite(found);
      running = found;
      return false;
    }
    const readBy = readByMicroseconds({ rig, method }, dwell.endedAtMicroseconds) + afterMicroseconds;
    if (readBy > nowMicroseconds) return false;
    const taken = takeDwell(state, contextOf(startOf(dwell), readBy), recordedOf(dwell));
    if (dwell.purpose === 'probe') mustBeFinite(taken.leakages[dwell.probe]);
    state = taken;
    if (dwell.purpose === 'probe') dwellFlags.set(dwell.dwell, state.leakages[dwell.probe]?.flags ?? []);
    next = dwell.dwell + 1;
    lost.delete(airOf(dwell));
    return true;
  };

  return {
    get state() {
      return state;
    },
    get running() {
      return running;
    },
    dwellFlags,
    get newestReadingMicroseconds() {
      return ring.newest?.atMicroseconds ?? null;
    },
    get failure() {
      const [first] = lost;
      return first === undefined ? null : `${first[0]}: ${first[1]}`;
    },
    observeBreath: (atMicroseconds, value) => breaths.push(atMicroseconds, value),
    observeReading: (atMicroseconds, value) => ring.push(atMicroseconds, value),
    observeProblem(problem) {
      if (problem.instrument !== rig.photometer || !problemsOfReadings.has(problem.code)) return;
      problems.push(problem.atMicroseconds);
      if (problems.length > mostProblems) problems.shift();
    },
    update(dwells, nowMicroseconds) {
      running = null;
      for (const dwell of dwells.slice(dwells.findLastIndex((each) => each.dwell < next) + 1)) {
        try {
          if (!take(dwell, nowMicroseconds)) return;
        } catch (error) {
          lost.set(airOf(dwell), error instanceof Error ? error.message : String(error));
          if (dwell.endedAtMicroseconds === null) return;
          // It will not be read any better the next time.
          if (dwell.purpose === 'probe') dwellFlags.set(dwell.dwell, ['incomplete']);
          next = dwell.dwell + 1;
        }
      }
    },
  };
}

/** `zero`, `reference`, `probe hood`, `background hood` */
function airOf({ probe, purpose }: DwellView): string {
  return purpose === 'zero' || purpose === 'reference' ? purpose : `${purpose} ${probe}`;
}

/** @throws RangeError where a number of a live value is none: no window could be told of it. */
function mustBeFinite(value: ProvisionalLeakage | undefined): void {
  for (const [name, number] of Object.entries(value ?? {})) {
    if (typeof number === 'number' && !Number.isFinite(number)) throw new RangeError(`${name} is ${number}`);
  }
}

function recordedOf(view: DwellView): RecordedDwell {
  return {
    dwell: view,
    beganAtMicroseconds: view.plannedAtMicroseconds,
    requestedAtMicroseconds: view.requestedAtMicroseconds ?? view.plannedAtMicroseconds,
    acknowledgedAtMicroseconds: view.acknowledgedAtMicroseconds,
    acknowledgedPort: view.acknowledgedAtMicroseconds === null ? null : view.port,
    endedAtMicroseconds: view.endedAtMicroseconds,
    releasedAtMicroseconds: view.endedAtMicroseconds,
    complete: view.complete,
    port: view.unconfirmed || view.acknowledgedAtMicroseconds === null ? 'unconfirmed' : 'confirmed',
  };
}
