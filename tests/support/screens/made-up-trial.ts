import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import type { DwellView, LaneView, NowView, TrialSnapshot } from '../../../src/bridge/trial-snapshot.ts';
import { probePorts } from '../../../src/model/rig.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import type { Step } from '../../../src/series/schedule.ts';
import { ownRig, workday } from './made-up.ts';

const second = 1_000_000;
const schedule = compileSchedule(demo.series, ownRig);
const levels: Readonly<Record<string, number>> = {
  ...{ hood: 0.014, chest: 0.031, 'lower-back': 0.055, thigh: 0.14, ankle: 0.52 },
};

/** The step under way at a time on the plan. */
function stepAt(at: number): Step {
  const step = schedule.steps.findLast((one) => one.offsetMicroseconds <= at);
  if (step === undefined) throw new RangeError('before the schedule');
  return step;
}

/** What the photometer would read at a time of the made-up trial, mg/m³. */
export function readingAt(at: number): number {
  const step = stepAt(at);
  const before = schedule.steps[step.step - 1];
  const since = (at - step.offsetMicroseconds) / second - 1.2;
  const settled = since < 0 ? 0 : 1 - Math.exp(-since / 1);
  const level = airOf(before) + (airOf(step) - airOf(before)) * settled;
  const unrest = 1 + 0.05 * Math.sin(at / 3.1e5) * Math.cos(at / 7.7e5);
  return level * unrest + 0.0002 * Math.sin(at / 1.3e5);
}

function airOf(step: Step | undefined): number {
  if (step === undefined || step.purpose === 'zero') return 0.0003;
  if (step.purpose === 'reference') return 11.6;
  const share = step.purpose === 'background' ? 0.003 : (levels[step.probe] ?? 0.1) * (1 + 0.3 * Math.sin(step.step));
  return (share / 100) * 11.6 + 0.0003;
}

export function heartRateAt(at: number): number {
  return 112 + 22 * Math.sin(at / 60e6) + 5 * Math.sin(at / 9e6);
}

function dwellsUntil(at: number): DwellView[] {
  return schedule.steps
    .filter((step) => step.offsetMicroseconds <= at)
    .map((step) => {
      const end = step.offsetMicroseconds + step.durationMicroseconds;
      return {
        dwell: step.step,
        step: step.step,
        stage: step.stage,
        purpose: step.purpose,
        port: step.port,
        probe: step.probe,
        exercise: step.exercise,
        dwellPosition: step.dwellPosition,
        attempt: step.exercise === null ? 0 : 1,
        plannedAtMicroseconds: step.offsetMicroseconds,
        requestedAtMicroseconds: step.offsetMicroseconds,
        acknowledgedAtMicroseconds: step.offsetMicroseconds + 60_000,
        unconfirmed: false,
        endedAtMicroseconds: end <= at ? end : null,
        complete: end <= at,
      };
    });
}

/** The made-up trial in the middle of a run, at a time on the plan, µs. */
export function madeUpTrial(at: number, change: Partial<TrialSnapshot> = {}): TrialSnapshot {
  const step = stepAt(at);
  const dwells = dwellsUntil(at);
  const exercises = demo.series.exercises.map((exercise, index) => {
    const place = schedule.exercises[index];
    const zero = schedule.steps[place?.zeroStep ?? 0];
    const last = schedule.steps[place?.lastProbeStep ?? 0];
    const begins = (zero?.offsetMicroseconds ?? 0) + exercise.restZeroSeconds * second;
    const ends = (last?.offsetMicroseconds ?? 0) + (last?.durationMicroseconds ?? 0);
    const state: 'done' | 'now' | 'to-come' = ends <= at ? 'done' : begins <= at ? 'now' : 'to-come';
    return {
      ...{ exercise: exercise.exercise, name: exercise.name, instruction: exercise.instruction },
      operatorText: null,
      ...{ restSeconds: exercise.restSeconds, restLengthenedSeconds: 0, durationSeconds: exercise.durationSeconds },
      ...{ cadencePerMinute: exercise.cadencePerMinute, workRateWatts: exercise.workRateWatts, state },
      movement: exercise.movement ?? null,
      attempts: begins <= at ? 1 : 0,
      beganAtMicroseconds: begins <= at ? begins : null,
      endedAtMicroseconds: ends <= at ? ends : null,
      flags: index === 1 && ends <= at ? ['unsettled'] : [],
      ends,
    };
  });
  const current = exercises.find(({ state }) => state === 'now');
  const nextExercise = exercises.find(({ state }) => state === 'to-come');
  const since = (at - step.offsetMicroseconds) / second;
  const now: NowView = {
    kind:
      current !== undefined
        ? step.purpose === 'zero'
          ? 'lead-in'
          : 'exercise'
        : step.stage === 'rest'
          ? 'rest'
          : 'background',
    stage: step.stage,
    exercise: current?.exercise ?? nextExercise?.exercise ?? null,
    sinceMicroseconds: step.offsetMicroseconds,
    untilMicroseconds: current?.ends ?? step.offsetMicroseconds + step.durationMicroseconds,
    port: step.port,
    probe: step.probe,
    purpose: step.purpose,
    air: since < 1 ? 'transit' : since < 7 ? 'settling' : 'usable',
    usableFromMicroseconds: step.offsetMicroseconds + 7 * second,
    dwellUntilMicroseconds: step.offsetMicroseconds + step.durationMicroseconds,
    lengthenedMicroseconds: 0,
  };
  const planned = schedule.steps
    .filter((one) => one.offsetMicroseconds > at)
    .slice(0, 12)
    .map((one) => ({
      ...{ probe: one.probe, port: one.port, purpose: one.purpose, exercise: one.exercise },
      fromMicroseconds: one.offsetMicroseconds,
      toMicroseconds: one.offsetMicroseconds + one.durationMicroseconds,
    }));
  return {
    trial: 't-000000000051',
    file: 'grain-terminal-coveralls.chamberside',
    header: {
      ...{ trial: 't-000000000051', study: 's-000000000002', subject: 'S04', ensemble: 'Coverall A, taped' },
      ...{ operator: 'KL', virtual: true, program: '0.1.0' },
    },
    phase: 'running',
    heldBecause: null,
    reason: null,
    ending: 'no',
    endingFailure: null,
    subjectStop: 'armed',
    before: [],
    ...{ after: [], afterHolds: false },
    atMicroseconds: at,
    endsAtMicroseconds: schedule.durationMicroseconds,
    now,
    next:
      nextExercise === undefined
        ? { kind: 'closing', exercise: null, seconds: null }
        : { kind: 'rest', exercise: nextExercise.exercise, seconds: nextExercise.restSeconds },
    exercises: exercises.map(({ ends: _, ...exercise }) => exercise),
    dwells,
    planned,
    lanes: probePorts(ownRig).map(({ probe }) => lane(probe, at, step, dwells)),
    challenge: { meanReading: 11.6, measuredToMicroseconds: lastOf(dwells, 'reference'), changePercent: -3.4 },
    filteredAir: { meanReading: 0.0003, measuredToMicroseconds: lastOf(dwells, 'zero') },
    requirementPercent: 0.5,
    heartRateLimit: 150,
    allowed: ['hold', 'mark', 'repeat', 'skip', 'stop'],
    notes: [{ atMicroseconds: 640 * second, kind: 'mark', text: 'To the mark at 10:40: coughed', person: 'anna' }],
    counts: { readings: Math.round(at / 50_000), problems: 0, dwells: dwells.length, alarms: 0 },
    ...change,
  };
}

function lastOf(dwells: readonly DwellView[], purpose: DwellView['purpose']): number {
  return (
    dwells.findLast((one) => one.purpose === purpose && one.endedAtMicroseconds !== null)?.endedAtMicroseconds ?? 0
  );
}

function lane(probe: string, at: number, step: Step, dwells: readonly DwellView[]): LaneView {
  const here = step.probe === probe && step.purpose === 'probe';
  const since = (at - step.offsetMicroseconds) / second;
  const last = dwells.findLast(
    (one) => one.probe === probe && one.purpose === 'probe' && one.endedAtMicroseconds !== null,
  );
  const measured = here && since > 7 ? at : (last?.endedAtMicroseconds ?? null);
  const value = levels[probe] ?? 0.1;
  return {
    probe,
    state: here ? (since > 7 ? 'measuring' : 'settling') : measured === null ? 'not-yet' : 'waiting',
    windowPercent: measured === null ? null : value,
    windowLowPercent: measured === null ? null : value * 0.92,
    windowHighPercent: measured === null ? null : value * 1.08,
    detectionLimitPercent: 0.006,
    belowDetectionLimit: false,
    measuredToMicroseconds: measured,
    usableSeconds: here ? Math.max(0, since - 7) : 10.5,
    usableSecondsPlanned: 10.9,
    flags: [],
    detail: null,
  };
}

/** The made-up trial on the virtual rig. */
export function trialDay(trial: TrialSnapshot, change: Partial<Snapshot> = {}): Snapshot {
  const { rig } = workday;
  return {
    ...workday,
    rig: {
      ...rig,
      rig: { ...ownRig, virtual: true },
      valve: { ...rig.valve, requestedPort: trial.now.port, confirmedPort: trial.now.port },
      virtualRig: { scenario: 'demo', seed: 7, processId: 4711 },
    },
    trial,
    limitsWatched: 9,
    record: { uncommittedSeconds: 0.6, failure: null },
    ...change,
  };
}
