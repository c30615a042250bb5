import { parentPort, receiveMessageOnPort } from 'node:worker_threads';
import { ChambersideError } from '../../model/error-code.ts';
import { isStorageFailure, storageError } from './database.ts';
import { toSerialError } from '../worker/serial-error.ts';
import type { SerialError } from '../worker/serial-error.ts';
import type { FromWriter, ToWriter } from './protocol.ts';
import { StudyWriter } from './writer.ts';
import type { LinkBatch } from './writer.ts';

/**
 * Entry of the writer worker: the only writing connection to a study lives here, away from the thread that reads
 * the ports. Links that have arrived together are committed together; each commit is acknowledged afterwards. What
 * could not be committed is kept and tried again, before anything newer.
 */

const retryMilliseconds = 1000;
const heartbeatMilliseconds = 6000;
/** Links of one transaction at most, so that an acknowledgement never waits for a long queue. */
const mostLinks = 256;

const port = parentPort;
if (port === null) throw new Error('the writer runs in a worker thread only');

/** Ends this writer. */
class LogGone extends Error {
  override message = 'The log of the study was taken away from beside it, and what was in it is in the file now';
}

/** Only while nothing is being committed; a disk that refuses is reported by the next commit. */
function beat(): void {
  try {
    if (waiting.length === 0) writer?.heartbeat();
  } catch {
    // The lease grows old, which is what it then is.
  }
}

let writer: StudyWriter | null = null;
/** Outlives the writer: closing can fail too. */
let studyPath = '';
let waiting: LinkBatch[] = [];
let retry: NodeJS.Timeout | null = null;

function send(message: FromWriter): void {
  port?.postMessage(message);
}

/**
 * Commits all that waits. Where the file has gone and cannot be put back, all of it is committed to what is still open,
 * so that a copy at the end holds it, and none of it is said to be kept.
 * @returns the error that stopped it, or null.
 */
function commitWaiting(): SerialError | null {
  if (retry !== null) clearTimeout(retry);
  retry = null;
  if (writer === null || waiting.length === 0) return null;
  let done = 0;
  try {
    let away: ChambersideError | null = null;
    try {
      lookAfter(writer);
    } catch (error) {
      // A file that stands and is another host's is not written to.
      if (error instanceof LogGone || !writer.hasLeft) throw error;
      away = storageError(error, writer.path);
    }
    while (done < waiting.length) {
      const batch = nextBatch(done);
      writer.commit(batch);
      done += batch.length;
      if (away === null) tellKept(batch);
    }
    if (away !== null) {
      done = 0;
      throw away;
    }
  } catch (error) {
    if (error instanceof LogGone) throw error;
    const failure = toSerialError(storageError(error, writer.path), 'writer');
    waiting = waiting.slice(done);
    send({ kind: 'failed', error: failure, waitingLinks: waitingLinks() });
    retry = setTimeout(commitWaiting, retryMilliseconds);
    return failure;
  }
  waiting = [];
  return null;
}

/** So much of what waits, from there on, as one transaction takes. */
function nextBatch(from: number): LinkBatch[] {
  let count = 0;
  let links = 0;
  for (const { links: more } of waiting.slice(from)) {
    if (count > 0 && links + more.length > mostLinks) break;
    links += more.length;
    count += 1;
  }
  return waiting.slice(from, from + count);
}

function tellKept(batch: readonly LinkBatch[]): void {
  for (const { trial, links } of batch) {
    const last = links.at(-1);
    if (last !== undefined) {
      send({ kind: 'committed', trial, link: last.link, throughMicroseconds: last.throughMicroseconds });
    }
  }
}

/** A file that has left its place is put back, and somebody is told. @throws as `putBack`. */
function lookAfter(study: StudyWriter): void {
  if (study.logHasGone) {
    // Another writer opens the file with a new log, and is handed again what is not acknowledged.
    study.settleLog();
    throw new LogGone();
  }
  const happened = study.putBack();
  if (happened === null) return;
  send({ kind: 'moved', path: study.at });
  send({ kind: 'failed', error: toSerialError(happened, 'writer'), waitingLinks: waitingLinks() });
}

function waitingLinks(): number {
  return waiting.reduce((sum, entry) => sum + entry.links.length, 0);
}

function opened(): StudyWriter {
  if (writer === null) throw new ChambersideError('internal', 'No study is open', 'writer', 'Open one first.');
  lookAfter(writer);
  return writer;
}

function perform(message: Extract<ToWriter, { kind: 'request' }>): unknown {
  switch (message.request) {
    case 'open': {
      const { path, studyName, hostId } = message.ask;
      studyPath = path;
      writer = new StudyWriter(path, studyName, hostId, message.now);
      return { identity: writer.identity, created: writer.created };
    }
    case 'create':
      return opened().createTrial(message.ask.definition, message.now);
    case 'resume':
      return opened().resumeTrial(message.ask.trial, message.ask.segment);
    case 'seal':
      return opened().seal(message.ask.trial, message.now);
    case 'unfinished':
      return opened().unfinished();
    case 'void':
      return opened().storeVoiding(message.ask.voiding, message.now);
    case 'sign':
      return opened().storeSignature(message.ask.signature, message.now);
    case 'assess':
      return opened().storeAssessment(message.ask.assessment, message.now);
    case 'limit':
      opened().limitPages(message.ask.pages);
      return null;
    case 'close': {
      if (retry !== null) clearTimeout(retry);
      if (writer === null) return null;
      const closing = writer;
      writer = null;
      closing.close();
      return null;
    }
  }
}

function receive(message: ToWriter): void {
  if (message.kind === 'links') {
    waiting.push({ trial: message.trial, links: message.links });
    return;
  }
  const failure = commitWaiting();
  try {
    const answer = perform(message);
    // Closing with something uncommitted has given the file back, and still is no success.
    if (message.request === 'close' && failure !== null)
      send({ kind: 'refusal', number: message.number, error: failure });
    else send({ kind: 'answer', number: message.number, answer });
    if (message.request === 'close') port?.close();
  } catch (error) {
    if (error instanceof LogGone) throw error;
    const path = message.request === 'open' ? message.ask.path : studyPath;
    const known = isStorageFailure(error) ? storageError(error, path) : error;
    send({ kind: 'refusal', number: message.number, error: toSerialError(known, 'writer') });
  }
}

setInterval(beat, heartbeatMilliseconds).unref();

port.on('message', (first: ToWriter) => {
  receive(first);
  for (let next = receiveMessageOnPort(port); next !== undefined; next = receiveMessageOnPort(port)) {
    receive(next.message as ToWriter);
  }
  if (waiting.length > 0) commitWaiting();
});
