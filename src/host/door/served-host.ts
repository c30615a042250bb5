import type { InferContractRouterInputs, InferContractRouterOutputs } from '@orpc/contract';
import type { Contract } from '../../bridge/contract.ts';
import type { SampleMessage } from '../../bridge/samples.ts';
import type { WindowDisplay } from '../../bridge/hello.ts';
import type { Snapshot } from '../../bridge/snapshot.ts';

type Inputs = InferContractRouterInputs<Contract>;
type Outputs = InferContractRouterOutputs<Contract>;
type Group = Exclude<keyof Contract, 'watch' | 'clock'>;

/** The window that asks, as the door knows it. */
export interface AskingWindow {
  /** Unlike for every window since the host began. */
  readonly window: number;
  /** Left out: the operator's. The subject's may look, and stop; a trial is not held for the want of one. */
  readonly display?: WindowDisplay;
}

/** What a procedure gives: where the contract has a sequence, anything that can be gone through. */
type Answer<Output> = Output extends AsyncIterator<infer Part, unknown, unknown> ? AsyncIterable<Part> : Output;

/** Every procedure of the contract but `watch`. Inputs are checked already. @throws ChambersideError as a refusal. */
export type HostProcedures = {
  readonly [G in Group]: {
    readonly [P in keyof Contract[G] & keyof Inputs[G] & keyof Outputs[G]]: (
      input: Inputs[G][P],
      window: AskingWindow,
    ) => Promise<Answer<Outputs[G][P]>>;
  };
};

/** One window's sample channel, host side. */
export interface SampleChannel {
  /** A message of the window, checked already; `hello` is the door's own and never arrives here. */
  receive(message: SampleMessage): void;
  /** The window has gone: nothing is sent any more. */
  close(): void;
}

/** The host as its doors see it: what they serve, whatever the door. */
export interface ServedHost {
  readonly procedures: HostProcedures;
  clock(): Outputs['clock'];
  snapshot(): Snapshot;
  /** Told after every change, at most twenty times a second. @returns a function that ends it. */
  onSnapshot(listener: (snapshot: Snapshot) => void): () => void;
  /**
   * @param send one binary frame to the window; the bytes are the channel's to keep.
   * @param waitingBytes what the door holds back because the window does not read.
   */
  openSamples(send: (frame: Uint8Array<ArrayBuffer>) => void, waitingBytes: () => number): SampleChannel;
  /** A window has identified itself, or gone; without any, a trial under way is held. */
  windowOpened(window: AskingWindow): void;
  windowClosed(window: AskingWindow): void;
}
