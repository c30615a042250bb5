import type { Worker } from 'node:worker_threads';
import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import { reviveError } from '../worker/serial-error.ts';
import { startWorker } from '../worker/start-worker.ts';
import type { FromWriter, LinkData, RequestName, ToWriter, WriterRequests } from './protocol.ts';

/** What the main thread hears from the writer without asking. */
export interface WriterListener {
  committed(trial: Identifier, link: number, throughMicroseconds: number): void;
  failed(error: ChambersideError, waitingLinks: number): void;
  moved(path: string): void;
  /** The worker ended by itself. Nothing after it is answered. */
  lost(reason: string): void;
}

interface Pending {
  readonly resolve: (answer: unknown) => void;
  readonly reject: (error: Error) => void;
}

/** One writer worker and the conversation with it. */
export class WriterPort {
  readonly #worker: Worker;
  readonly #now: () => string;
  readonly #pending = new Map<number, Pending>();
  #asked = 0;
  #over = false;

  constructor(listener: WriterListener, now: () => string) {
    this.#now = now;
    this.#worker = startWorker(import.meta.url, 'writer-worker');
    this.#worker.on('message', (message: FromWriter) => {
      if (message.kind === 'committed') listener.committed(message.trial, message.link, message.throughMicroseconds);
      else if (message.kind === 'failed') listener.failed(reviveError(message.error), message.waitingLinks);
      else if (message.kind === 'moved') listener.moved(message.path);
      else {
        const pending = this.#pending.get(message.number);
        this.#pending.delete(message.number);
        if (message.kind === 'answer') pending?.resolve(message.answer);
        else pending?.reject(reviveError(message.error));
      }
    });
    let reason = 'the writer worker ended';
    this.#worker.on('error', (error) => {
      reason = error instanceof Error ? error.message : String(error);
    });
    this.#worker.on('exit', () => {
      const expected = this.#over;
      this.#over = true;
      for (const pending of this.#pending.values()) pending.reject(lostError(reason));
      this.#pending.clear();
      if (!expected) listener.lost(reason);
    });
  }

  /** Asks for one thing and waits for the answer. @throws ChambersideError whatever the writer refuses with. */
  ask<Name extends RequestName>(
    request: Name,
    ask: WriterRequests[Name]['ask'],
  ): Promise<WriterRequests[Name]['answer']> {
    if (this.#over) return Promise.reject(lostError('the writer has ended'));
    this.#asked += 1;
    const number = this.#asked;
    return new Promise((resolve, reject) => {
      this.#pending.set(number, { resolve: resolve as (answer: unknown) => void, reject });
      this.#worker.postMessage({ kind: 'request', request, number, now: this.#now(), ask });
    });
  }

  /** Hands links over; they are cloned, because small arrays are cloned faster than they are transferred. */
  links(trial: Identifier, links: readonly LinkData[]): void {
    if (this.#over) return;
    const message: ToWriter = { kind: 'links', trial, links };
    this.#worker.postMessage(message);
  }

  /** Stops the worker; expected from now on. */
  async end(): Promise<void> {
    this.#over = true;
    await this.#worker.terminate();
  }
}

function lostError(reason: string): ChambersideError {
  return new ChambersideError(
    'commit-failed',
    reason,
    'writer',
    'Close the study and open it again; nothing acknowledged is lost.',
  );
}
