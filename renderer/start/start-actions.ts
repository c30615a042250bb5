import type { Outcome } from '../ui/use-perform.ts';

/** What the start screen asks of the host and of the window. */
export interface StartActions {
  readonly takeUp: (file: string, trial: string) => Promise<Outcome<unknown>>;
  readonly startVirtual: (scenario: string) => Promise<Outcome<unknown>>;
  readonly createStudy: (name: string) => Promise<Outcome<{ file: string }>>;
  readonly refresh: () => Promise<Outcome<unknown>>;
  readonly toConsole: () => void;
  readonly toRig: () => void;
  /** @param file study to plan for; null: any. */
  readonly toPlan: (file: string | null) => void;
  readonly toStudy: (file: string) => void;
  readonly toResult: (file: string, trial: string) => void;
}
