import { parentPort } from 'node:worker_threads';
import { assess } from '../../leakage/assess.ts';
import { provisionalOfRecord } from '../../leakage/provisional.ts';
import { readInstrumentHistory, readRegister } from './register-job.ts';
import { readRepeatedPlan } from './repeat-job.ts';
import { storeSignature } from '../store/signatures.ts';
import { storeVoiding } from '../store/voidings.ts';
import { storeAssessment } from '../store/assessments.ts';
import { readPlannedMethod, readStreamBetween, readTrial } from '../store/read.ts';
import { thin } from '../samples/thin.ts';
import { giveWay } from '../worker/give-way.ts';
import { toSerialError } from '../worker/serial-error.ts';
import { readDifference } from './difference-job.ts';
import { explainStored } from './explain-job.ts';
import type { FromComputer, Jobs, ToComputer } from './jobs.ts';
import { listCheckHistory, performLaboratory, readCheckGround } from './laboratory-job.ts';
import { readRigDifference, readRigVersions } from './rig-versions-job.ts';
import { assessReviewed, requireReviewer } from './review-job.ts';
import { readResult } from './result-job.ts';
import { readScatter } from './scatter-job.ts';
import { requireSigner } from './sign-job.ts';
import { createStudyFile, listStudies, readStudySummary, readWhatIf } from './study-jobs.ts';

/**
 * Entry of a compute worker: reading files and computing, away from the thread that reads the ports, where a hundred
 * milliseconds of either would be a port switched a hundred milliseconds late.
 */
const port = parentPort;
if (port === null) throw new Error('jobs are done in a worker thread only');
giveWay();

async function perform(message: ToComputer): Promise<Jobs[keyof Jobs]['answer']> {
  switch (message.job) {
    case 'studies':
      return listStudies(message.ask.folder);
    case 'create-study': {
      const { folder, name, now } = message.ask;
      return { file: createStudyFile(folder, name, now) };
    }
    case 'scatter':
      return readScatter(message.ask.folder, message.ask.rig);
    case 'study-summary':
      return readStudySummary(message.ask.path, message.ask.file);
    case 'study-what-if':
      return readWhatIf(message.ask.path, message.ask.asked);
    case 'recall': {
      const { path, trial } = message.ask;
      const record = readTrial(path, trial);
      const method = readPlannedMethod(path, trial);
      const { rig, series, segments, events } = record;
      const streams = record.streams.map(({ descriptor }) => descriptor);
      const readings = record.streams.reduce((sum, stream) => sum + stream.values.length, 0);
      const provisional = provisionalOfRecord(record, method);
      return { rig, series, method, streams, segments, events, readings, provisional };
    }
    case 'assess': {
      const { path, trial } = message.ask;
      const method = readPlannedMethod(path, trial);
      return { method, assessment: assess(readTrial(path, trial), method) };
    }
    case 'store-assessment': {
      const { path, trial, program, now } = message.ask;
      const method = readPlannedMethod(path, trial);
      const assessment = assess(readTrial(path, trial), method);
      const entry = { trial, method, program, cells: assessment.cells, details: assessment };
      return { assessment: storeAssessment(path, entry, now).assessment };
    }
    case 'review': {
      const { laboratory, pin, ...request } = message.ask;
      await requireReviewer(laboratory, request.review.person, pin);
      return assessReviewed(request);
    }
    case 'keep-assessment': {
      const { path, entry, now } = message.ask;
      return { assessment: storeAssessment(path, entry, now).assessment };
    }
    case 'repeated-plan':
      return readRepeatedPlan(message.ask.path, message.ask.trial, message.ask.from);
    case 'ask-reviewer': {
      const { laboratory, person, pin } = message.ask;
      await requireReviewer(laboratory, person, pin);
      return null;
    }
    case 'keep-voiding':
      return storeVoiding(message.ask.path, message.ask.entry, message.ask.now);
    case 'ask-signer':
      await requireSigner(message.ask);
      return null;
    case 'keep-signature':
      return storeSignature(message.ask.path, message.ask.entry, message.ask.now);
    case 'difference': {
      const { path, trial, from, to } = message.ask;
      return readDifference(path, trial, from, to);
    }
    case 'result':
      return readResult(message.ask.path, message.ask.file, message.ask.trial);
    case 'explain':
      return explainStored(message.ask.path, message.ask.trial, message.ask.place);
    case 'report': {
      // Loaded when it is needed: few workers ever make one.
      const { makeReport } = await import('../report/make-report.ts');
      return makeReport(message.ask, (step) => {
        port?.postMessage({ number: message.number, step } satisfies FromComputer);
      });
    }
    case 'study-report': {
      const { makeStudyReport } = await import('../report/make-study-report.ts');
      return makeStudyReport(message.ask, (step, share) => {
        port?.postMessage({ number: message.number, step, share } satisfies FromComputer);
      });
    }
    case 'record': {
      const { path, trial } = message.ask;
      const record = readTrial(path, trial);
      // Views of shared memory would not survive the way: each stream has its own.
      const streams = record.streams.map(({ descriptor, atMicroseconds, values }) => ({
        descriptor,
        atMicroseconds: atMicroseconds.slice(),
        values: values.slice(),
      }));
      return { record: { ...record, streams }, method: readPlannedMethod(path, trial) };
    }
    case 'history': {
      const { path, trial, stream, fromMicroseconds, toMicroseconds, mostSamples } = message.ask;
      return thin(readStreamBetween(path, trial, stream, fromMicroseconds, toMicroseconds), mostSamples);
    }
    case 'laboratory':
      return performLaboratory(message.ask.path, message.ask.change, message.ask.now);
    case 'check-history': {
      const { path, rig, choice, now } = message.ask;
      return listCheckHistory(path, rig, choice, now);
    }
    case 'register':
      return readRegister(message.ask.path, message.ask.now);
    case 'instrument-history':
      return readInstrumentHistory(message.ask.path, message.ask.instrument, message.ask.now);
    case 'rig-versions':
      return readRigVersions(message.ask.path, message.ask.name, message.ask.now);
    case 'rig-difference':
      return readRigDifference(message.ask.path, message.ask, message.ask.now);
    case 'check-ground':
      return readCheckGround(message.ask.path, message.ask.number, message.ask.now);
  }
}

/** One after the other: two jobs on one laboratory file would wait for each other's locks. */
let last: Promise<void> = Promise.resolve();

port.on('message', (message: ToComputer) => {
  last = last.then(async () => {
    let reply: FromComputer;
    try {
      reply = { number: message.number, answer: await perform(message) };
    } catch (error) {
      reply = { number: message.number, error: toSerialError(error, message.job) };
    }
    port.postMessage(reply);
  });
});
