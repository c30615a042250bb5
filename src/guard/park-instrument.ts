import { createLineFramer, findDriver, parseSettings } from '../../drivers/registry.ts';
import type { DriverSession } from '../device/driver.ts';
import type { Cancel, Timers } from '../device/timers.ts';
import type { Transport } from '../device/transport.ts';
import { isChambersideError } from '../model/error-code.ts';
import type { GuardAct, GuardDuty } from '../safety/guard/messages.ts';

/** How often a duty is tried, and how long is waited before it is tried again, µs. */
const mostTries = 3;
const pauseMicroseconds = 100_000;
/** A port that the system does not open within this is not waited for any longer by this try, µs. */
const openMicroseconds = 3_000_000;

export interface ParkOptions {
  readonly duty: GuardDuty;
  /** The instrument's line, open; opened again where it is not. Rejects while it cannot be opened. */
  readonly transport: () => Promise<Transport>;
  readonly timers: Timers;
  /** Monotonic, µs; when parking began. */
  readonly now: () => number;
  readonly beganAtMicroseconds: number;
}

export interface Parked {
  readonly act: GuardAct;
  /** Trying again could change nothing: it was acknowledged, or is of a kind that never answers. */
  readonly settled: boolean;
}

/** What a duty does, in words. */
function wordsOf({ act }: GuardDuty): string {
  return act.act === 'rest' ? 'load to zero' : `valve to port ${act.port}, filtered air`;
}

/** A duty that was begun and is not done: what a guard leaves that is killed meanwhile. */
export function begunAct(duty: GuardDuty): GuardAct {
  const { instrument } = duty;
  return { instrument, what: wordsOf(duty), tries: 0, acknowledgedAfterMilliseconds: null, failure: 'not finished' };
}

function requireVerb({ actuator, selector }: DriverSession, { act, instrument }: GuardDuty): void {
  if (act.act === 'select' && selector === undefined) throw new RangeError(`${instrument} switches no ports`);
  if (act.act === 'rest' && actuator === undefined) throw new RangeError(`${instrument} has nothing that can be set`);
}

async function perform(session: DriverSession, duty: GuardDuty): Promise<void> {
  requireVerb(session, duty);
  const { actuator, selector } = session;
  if (duty.act.act === 'select') {
    await selector?.select(duty.act.port);
    return;
  }
  for (const { output, restValue } of actuator?.outputs ?? []) await actuator?.set(output, restValue);
}

/**
 * Rehearses a duty on a line that leads nowhere, before anything depends on it.
 * @throws what keeps it from ever being done: a driver that there is not, settings that do not fit it, a verb that it
 *   does not have.
 */
export function rehearseDuty(duty: GuardDuty, timers: Timers): void {
  const nowhere: Transport = {
    label: 'nowhere',
    write: () => undefined,
    onBytes: () => undefined,
    onClose: () => undefined,
    close: () => Promise.resolve(),
  };
  const session = openSession(duty, nowhere, timers);
  // It is withdrawn before anything can answer.
  perform(session, duty).catch(() => undefined);
  session.end();
  requireVerb(session, duty);
}

/**
 * Brings one instrument to where it hurts nobody, through its own driver, which knows what an acknowledgement looks
 * like: tried until acknowledged, three times at most. Never rejects.
 */
export async function parkInstrument(options: ParkOptions): Promise<Parked> {
  const { duty, timers } = options;
  const what = wordsOf(duty);
  const { instrument } = duty;
  let open: { readonly transport: Transport; readonly session: DriverSession } | undefined;
  const end = (): void => {
    open?.session.end();
    open = undefined;
  };
  let failure = 'never tried';
  for (let tries = 1; ; tries += 1) {
    try {
      const transport = await inTime(options.transport(), timers);
      if (open?.transport !== transport) {
        end();
        open = { transport, session: openSession(duty, transport, timers) };
      }
      await perform(open.session, duty);
      end();
      const acknowledgedAfterMilliseconds = (options.now() - options.beganAtMicroseconds) / 1000;
      return { act: { instrument, what, tries, acknowledgedAfterMilliseconds, failure: null }, settled: true };
    } catch (error) {
      failure = error instanceof Error ? error.message : String(error);
      const silent = isChambersideError(error, 'position-unconfirmed');
      if (silent || tries >= mostTries) {
        end();
        return { act: { instrument, what, tries, acknowledgedAfterMilliseconds: null, failure }, settled: silent };
      }
    }
    await new Promise<void>((resolve) => timers.after(pauseMicroseconds, resolve));
  }
}

async function inTime(opening: Promise<Transport>, timers: Timers): Promise<Transport> {
  let cancel: Cancel = () => undefined;
  const late = new Promise<never>((_resolve, reject) => {
    const what = `its port did not open within ${openMicroseconds / 1e6} s`;
    cancel = timers.after(openMicroseconds, () => reject(new Error(what)));
  });
  try {
    return await Promise.race([opening, late]);
  } finally {
    cancel();
  }
}

function openSession(duty: GuardDuty, transport: Transport, timers: Timers): DriverSession {
  const { dialect, instrument, kind, settings } = duty;
  const manifest = findDriver(kind, dialect);
  const parsed = parseSettings(manifest, instrument, settings);
  return manifest.open({
    instrument,
    // Nothing is asked at intervals: what must be set now does not wait behind it.
    settings: manifest.listening?.(parsed) ?? parsed,
    transport,
    timers,
    lines: createLineFramer,
    // What comes besides the acknowledgement is left to the next host: nobody records it now.
    sink: { reading: () => undefined, problem: () => undefined, understood: () => undefined },
  });
}
