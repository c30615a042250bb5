import { startAndHear } from '../modbus/first-line.ts';

/** Simulated instruments on pseudo-terminals. */
export interface StartedInstruments {
  readonly lines: Readonly<Record<'bus' | 'flow' | 'breaths' | 'valve', string>>;
  stop(): Promise<void>;
}

export async function startInstruments(): Promise<StartedInstruments> {
  const { said, stop } = await startAndHear(new URL('./instruments-process.ts', import.meta.url));
  return { ...(said as Pick<StartedInstruments, 'lines'>), stop };
}
