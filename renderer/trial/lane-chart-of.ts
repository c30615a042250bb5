import type { DwellView, TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { methodForRig } from '../../src/leakage/method-for-rig.ts';
import { probePorts, solePort, type Port, type Rig } from '../../src/model/rig.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import { probeColour } from '../chart/colours.ts';
import type { Lane, LaneChart, LaneDwell } from '../chart/lane-chart.ts';
import type { StreamRing } from '../chart/stream-ring.ts';
import { trialTime } from '../words/times.ts';
import { trialWords } from '../words/trial.ts';
import { readingScale } from './trial-view.ts';

/** What the chart looks back on and ahead to, µs. */
const past = toMicroseconds(150);
const ahead = toMicroseconds(45);
/** A pause of as many readings is drawn as one; of readings that come by event, one of as many seconds. */
const pauseReadings = 4;
const pauseSeconds = 1;

/**
 * Lanes of a chart from what a snapshot says; the function that comes back adds the time of now.
 * @param options.plainShare height of a lane of plain readings as a share of a probe's lane.
 */
export function laneChart(options: {
  readonly trial: TrialSnapshot;
  readonly rig: Rig;
  readonly ring: StreamRing | null;
  readonly laneHeight: number;
  readonly plainShare: number;
  readonly oneAxis: boolean;
  /** Time between the photometer's readings when all is well, s; null when it is not known. */
  readonly readingSeconds: number | null;
  /** How much older than it is the newest reading may look, µs; nothing when left out. */
  readonly onTheWay?: () => number;
}): (now: number) => LaneChart {
  const { trial, rig, ring, laneHeight } = options;
  const scale = readingScale(trial, rig);
  const probes = probePorts(rig);
  const lag = toMicroseconds(rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value);
  const running = trial.phase === 'running';
  const pause = toMicroseconds(Math.max(pauseSeconds, pauseReadings * (options.readingSeconds ?? 0)));
  const all = probes.length * laneHeight;
  const ports = [...probes, solePort(rig, 'reference'), solePort(rig, 'filtered-air')];
  const lanes = (now: number): Lane[] =>
    ports.map((port, index) => {
      const plain = port.role !== 'probe';
      const factor = scale?.percentPerReading.get(port.probe);
      const lane = trial.lanes.find(({ probe }) => probe === port.probe);
      return {
        colour: probeColour(port.probe),
        top: plain
          ? all + (index - probes.length) * laneHeight * options.plainShare
          : options.oneAxis
            ? 0
            : index * laneHeight,
        height: plain ? laneHeight * options.plainShare : options.oneAxis ? all : laneHeight,
        lit: running && trial.now.port === port.port && !options.oneAxis,
        dwells: trial.dwells
          .filter((dwell) => dwell.port === port.port)
          .map((dwell) => laneDwell(dwell, port, rig, lag, running ? (trial.now.dwellUntilMicroseconds ?? now) : now)),
        planned: trial.planned
          .filter((dwell) => dwell.port === port.port)
          .map(({ fromMicroseconds, toMicroseconds: to }) => ({ from: fromMicroseconds + lag, to: to + lag })),
        toPercent:
          plain || scale === null || factor === undefined ? null : (reading) => (reading - scale.zero) * factor,
        detectionLimitPercent: lane?.detectionLimitPercent ?? null,
      };
    });
  return (now) => ({
    now,
    from: now - past,
    to: now + ahead,
    lanes: lanes(now),
    ring,
    plainTop: 1.1 * Math.max(trial.challenge?.meanReading ?? 0, rig.challenge.nominal),
    requirementPercent: trial.requirementPercent,
    exercises: trial.exercises.flatMap((exercise) => {
      const from = exercise.beganAtMicroseconds;
      if (from === null) return [];
      const planned = from + toMicroseconds(exercise.durationSeconds);
      return [{ from, to: exercise.endedAtMicroseconds ?? (exercise.state === 'now' && running ? planned : now) }];
    }),
    silenceMicroseconds: pause,
    onTheWayMicroseconds: options.onTheWay?.() ?? 0,
    nextWord: running ? trialWords.next.toLowerCase() : '',
    noReadingWord: (since, seconds) => trialWords.noReadingSince(trialTime(since), seconds),
  });
}

/** @param end of a dwell that goes on, as planned. */
function laneDwell(dwell: DwellView, port: Port, rig: Rig, lag: number, end: number): LaneDwell {
  const began = dwell.acknowledgedAtMicroseconds ?? dwell.requestedAtMicroseconds ?? dwell.plannedAtMicroseconds;
  const method = methodForRig(rig);
  const settling = dwell.purpose === 'zero' ? method.zeroSettlingSeconds : method.settling.seconds;
  const stale = rig.bypass ? 0 : port.transitSeconds.value;
  const ended = dwell.endedAtMicroseconds;
  return {
    from: began + lag,
    to: Math.max(began, ended ?? end) + lag,
    usableFrom: began + lag + toMicroseconds(settling + stale),
    now: ended === null,
    spoiled: dwell.unconfirmed || (ended !== null && !dwell.complete),
  };
}
