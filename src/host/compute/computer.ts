import type { Worker } from 'node:worker_threads';
import type { ReportStep } from '../../bridge/report-part.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { reviveError } from '../worker/serial-error.ts';
import { startWorker } from '../worker/start-worker.ts';
import type { FromComputer, JobName, Jobs, ToComputer } from './jobs.ts';

/** A worker thread that reads files and computes, one job after the other. */
export interface Computer {
  /** @throws ChambersideError as the job refuses; `internal` when the thread ends in the middle. */
  do<Name extends JobName>(
    job: Name,
    ask: Jobs[Name]['ask'],
    onStep?: (step: ReportStep, share?: number) => void,
  ): Promise<Jobs[Name]['answer']>;
  end(): Promise<void>;
}

interface Pending {
  readonly resolve: (answer: unknown) => void;
  readonly reject: (error: Error) => void;
  readonly onStep: ((step: ReportStep, share?: number) => void) | undefined;
}

/** The thread is started with the first job, and again after it was lost. */
export function createComputer(): Computer {
  const pending = new Map<number, Pending>();
  let worker: Worker | null = null;
  let asked = 0;
  let over = false;

  const ensure = (): Worker => {
    if (worker !== null) return worker;
    const started = startWorker(import.meta.url, 'compute-worker');
    worker = started;
    let reason = 'the compute worker ended';
    started.on('message', (message: FromComputer) => {
      const waiting = pending.get(message.number);
      if ('step' in message) {
        waiting?.onStep?.(message.step, message.share);
        return;
      }
      pending.delete(message.number);
      if (pending.size === 0) started.unref();
      if ('error' in message) waiting?.reject(reviveError(message.error));
      else waiting?.resolve(message.answer);
    });
    started.on('error', (error) => {
      reason = error instanceof Error ? error.message : String(error);
    });
    started.on('exit', () => {
      if (worker === started) worker = null;
      const lost = new ChambersideError('internal', reason, 'compute worker', 'Try it again.');
      for (const waiting of pending.values()) waiting.reject(lost);
      pending.clear();
    });
    return started;
  };

  return {
    do(job, ask, onStep) {
      if (over) return Promise.reject(new ChambersideError('internal', 'the host is closing', job, 'Start it again.'));
      const thread = ensure();
      thread.ref();
      asked += 1;
      const number = asked;
      return new Promise((resolve, reject) => {
        pending.set(number, { resolve: resolve as (answer: unknown) => void, reject, onStep });
        const message = { job, number, ask } as ToComputer;
        thread.postMessage(message);
      });
    },
    async end() {
      over = true;
      await worker?.terminate();
    },
  };
}
