import { randomBytes } from 'node:crypto';
import { ChambersideError } from '../../model/error-code.ts';
import { makeIdentifier } from '../../model/identity.ts';
import type { StudyRecorder, TrialRecorder } from '../store/contract.ts';
import { listTrials } from '../store/read.ts';
import { openStudyForRecording } from '../store/recorder.ts';
import type { PackagedTrial } from './read-package.ts';

export interface TakeInOptions {
  readonly study: string;
  /** Given to a study that is made; null: the study has to be there. */
  readonly studyName: string | null;
  readonly trials: readonly PackagedTrial[];
  /** ISO 8601 in UTC. */
  readonly at: string;
  readonly onTrial: (trial: string, number: number, all: number) => void;
}

/**
 * Records trials of a package into a study, each with a chain of its own that is sealed at once. Its header says where
 * it was recorded, with the head of the chain it had there.
 * @throws ChambersideError `trial-exists` before anything is written; the store's.
 */
export async function takeIn(options: TakeInOptions): Promise<void> {
  const { study: path, trials } = options;
  const there = options.studyName === null ? new Set(listTrials(path).map(({ trial }) => trial)) : new Set<string>();
  for (const { record } of trials) {
    if (!there.has(record.header.trial)) continue;
    const remedy = 'Leave it as it is, or take the package into another study.';
    throw new ChambersideError('trial-exists', 'The study holds this trial already', record.header.trial, remedy);
  }
  const study = await openStudyForRecording({
    path,
    hostId: makeIdentifier('host', randomBytes(12)),
    ...(options.studyName === null ? {} : { create: { studyName: options.studyName } }),
  });
  try {
    for (const [index, trial] of trials.entries()) {
      options.onTrial(trial.record.header.trial, index + 1, trials.length);
      await recordAgain(study, trial, options.at);
    }
  } finally {
    await study.close();
  }
}

/** Something to be recorded, with the time at which its turn is. */
interface Turn {
  readonly atMicroseconds: number;
  readonly record: (recorder: TrialRecorder) => void;
  /** A segment of time begins. */
  readonly begins: boolean;
}

/** A second is handed over when it is over, as it was. */
const secondMicroseconds = 1_000_000;
/** So many links are written before the disk is waited for. */
const linksAtOnce = 120;

async function recordAgain(study: StudyRecorder, packaged: PackagedTrial, at: string): Promise<void> {
  const { record, instruments, method, head } = packaged;
  const [segment] = record.segments;
  if (segment === undefined) throw new ChambersideError('internal', 'no segment of time', record.header.trial, '');
  const imported = { study: record.header.study, head, at };
  const recorder = await study.createTrial({
    header: { ...record.header, study: study.identity.study, imported },
    ...{ rig: record.rig, series: record.series, method, instruments, segment },
    streams: record.streams.map(({ descriptor }) => descriptor),
  });
  let boundary = segment.beginsAtMicroseconds + secondMicroseconds;
  let links = 0;
  for (const { atMicroseconds, record: put, begins } of turnsOf(packaged)) {
    // Between segments of time there are no seconds to hand over.
    if (begins) boundary = atMicroseconds + secondMicroseconds;
    while (atMicroseconds >= boundary) {
      recorder.handOver(boundary);
      boundary += secondMicroseconds;
      links += 1;
      if (links % linksAtOnce === 0) await recorder.settled();
    }
    put(recorder);
  }
  await recorder.seal();
}

/**
 * Readings, bytes and events in one order of time. What arrived late keeps its place behind what stood before it in
 * its own list.
 */
function turnsOf({ record, wire, instruments }: PackagedTrial): Turn[] {
  const turns: Turn[] = [];
  const inOrder = (
    count: number,
    timeOf: (index: number) => number,
    put: (index: number) => Turn['record'],
    begins: (index: number) => boolean = () => false,
  ): void => {
    let latest = 0;
    for (let index = 0; index < count; index += 1) {
      latest = Math.max(latest, timeOf(index));
      turns.push({ atMicroseconds: latest, record: put(index), begins: begins(index) });
    }
  };
  const { events, streams, segments } = record;
  inOrder(
    events.length,
    (index) => events[index]?.atMicroseconds ?? 0,
    (index) => (recorder) => {
      const event = events[index];
      if (event === undefined) return;
      const begins = event.kind === 'segment-began' ? segments[event.segment.segment] : undefined;
      if (begins !== undefined && begins.segment > 0) recorder.beginSegment(begins);
      else recorder.event(event);
    },
    (index) => events[index]?.kind === 'segment-began',
  );
  streams.forEach(({ atMicroseconds, values }, stream) => {
    inOrder(
      values.length,
      (index) => atMicroseconds[index] ?? 0,
      (index) => (recorder) => recorder.reading(stream, atMicroseconds[index] ?? 0, values[index] ?? 0),
    );
  });
  const places = new Map(instruments.map(({ instrument }, index) => [instrument, index]));
  inOrder(
    wire.length,
    (index) => wire[index]?.atMicroseconds ?? 0,
    (index) => (recorder) => {
      const one = wire[index];
      if (one === undefined) return;
      recorder.wire(places.get(one.instrument) ?? 0, one.direction, one.atMicroseconds, one.bytes);
    },
  );
  return turns.sort((one, other) => one.atMicroseconds - other.atMicroseconds);
}
