import type { StudyRecorder, TrialRecorder } from '../../src/host/store/contract.ts';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import type { Storm } from './draw-storm.ts';

/** What happened between the trial and its disk. */
export interface DiskRecord {
  /** Commits that the writer said it could not do. */
  failures: number;
  /** The last link that was acknowledged to the trial. */
  lastLink: number;
}

/**
 * The real writer with trouble: at given links the file may not grow for a while, so that real commits are really
 * refused, and acknowledgements come late.
 */
export function troubledDisk(storm: Storm, record: DiskRecord): typeof openStudyForRecording {
  return async (options) => {
    const study = await openStudyForRecording({
      ...options,
      onFailure(failure) {
        record.failures += 1;
        options.onFailure?.(failure);
      },
    });
    const troubled = (trial: TrialRecorder): TrialRecorder => withTrouble(trial, study, storm, record);
    return {
      path: study.path,
      identity: study.identity,
      created: study.created,
      createTrial: async (definition) => troubled(await study.createTrial(definition)),
      resumeTrial: async (trial, segment) => troubled(await study.resumeTrial(trial, segment)),
      unfinishedTrials: () => study.unfinishedTrials(),
      storeAssessment: (assessment) => study.storeAssessment(assessment),
      storeSignature: (signature) => study.storeSignature(signature),
      storeVoiding: (voiding) => study.storeVoiding(voiding),
      limitFilePages: (pages) => study.limitFilePages(pages),
      close: () => study.close(),
    };
  };
}

function withTrouble(trial: TrialRecorder, study: StudyRecorder, storm: Storm, record: DiskRecord): TrialRecorder {
  const waiting = [...storm.disk];
  trial.onAcknowledged(({ link }) => {
    record.lastLink = Math.max(record.lastLink, link);
    const next = waiting[0];
    if (next === undefined || link < next.fromLink) return;
    waiting.shift();
    // Refused like everything else of a closed study when the trial ends first; then nothing is limited any more.
    void study.limitFilePages(1).catch(() => undefined);
    setTimeout(() => void study.limitFilePages(null).catch(() => undefined), next.refusesMilliseconds);
  });
  return {
    trial: trial.trial,
    reading: (stream, at, value) => trial.reading(stream, at, value),
    wire: (instrument, direction, at, bytes) => trial.wire(instrument, direction, at, bytes),
    event: (event) => trial.event(event),
    handOver: (boundary) => trial.handOver(boundary),
    beginSegment: (segment) => trial.beginSegment(segment),
    acknowledged: () => trial.acknowledged(),
    onAcknowledged(callback) {
      if (storm.lateMilliseconds === 0) return trial.onAcknowledged(callback);
      return trial.onAcknowledged((acknowledgement) => {
        setTimeout(() => callback(acknowledgement), storm.lateMilliseconds);
      });
    },
    settled: () => trial.settled(),
    seal: () => trial.seal(),
    abandon: () => trial.abandon(),
  };
}
