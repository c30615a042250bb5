import type { Cancellation } from '../../../src/device/cancellation.ts';
import type { DriverContext, DriverSession, PortSelector } from '../../../src/device/driver.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { ChambersideError, isChambersideError } from '../../../src/model/error-code.ts';
import type { ErrorCode } from '../../../src/model/error-code.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import { createModbusClient } from '../../framing/modbus-client.ts';
import { createModbusValveCodec } from './codec.ts';
import type { ValvePosition } from './codec.ts';
import type { ModbusValveSettings } from './manifest.ts';

interface Seen {
  readonly position: ValvePosition;
  readonly atMicroseconds: number;
}

/**
 * Switches ports and believes only the position that the valve says. That a command was written confirms nothing: after
 * it the position is looked at until it is the port, or the time is over. One request for a port after the other.
 */
export function openModbusValve(context: DriverContext<ModbusValveSettings>): DriverSession {
  const { instrument, settings, timers, transport } = context;
  const codec = createModbusValveCodec(settings);
  const client = createModbusClient({ context });
  /** Timers that wait between two looks, and what ends the wait. */
  const naps = new Set<() => void>();
  const deadlines = new Set<Cancel>();
  let ended = false;
  /** Settles with the last move that was asked for; undefined: nobody moves it. */
  let moving: Promise<void> | undefined;

  const failure = (code: ErrorCode, what: string, remedy: string): ChambersideError =>
    new ChambersideError(code, `${instrument}: ${what}`, `${instrument}, ${transport.label}`, remedy);

  const nap = (seconds: number, cancellation: Cancellation | undefined): Promise<void> =>
    new Promise((resolve) => {
      let cancel: Cancel = () => undefined;
      const wake = (): void => {
        cancel();
        naps.delete(wake);
        cancellation?.removeEventListener('abort', wake);
        resolve();
      };
      cancel = timers.after(toMicroseconds(seconds), wake);
      naps.add(wake);
      cancellation?.addEventListener('abort', wake);
    });

  const look = async (cancellation: Cancellation | undefined): Promise<Seen> => {
    const { answer, atMicroseconds } = await client.ask(codec.position, cancellation);
    return { position: codec.read(answer), atMicroseconds };
  };

  const inWords = (position: ValvePosition): string => {
    if (position.stands === 'at') return `stands at port ${position.port}`;
    return position.stands === 'between' ? 'is between ports' : `says what cannot be (${position.detail})`;
  };

  const move = async (port: number, cancellation: Cancellation | undefined): Promise<number> => {
    await client.ask(codec.select(port), cancellation);
    let late = false;
    const cancelDeadline = timers.after(toMicroseconds(settings.confirmTimeoutSeconds), () => {
      late = true;
    });
    deadlines.add(cancelDeadline);
    try {
      let last: ValvePosition | undefined;
      for (;;) {
        try {
          const { position, atMicroseconds } = await look(cancellation);
          if (position.stands === 'at' && position.port === port) return atMicroseconds;
          last = position;
        } catch (error) {
          // One look that is not answered is no verdict; withdrawn or closed is.
          if (!isChambersideError(error, 'request-timed-out')) throw error;
        }
        if (late) {
          const remedy = 'Look at the valve; ask for the port again.';
          if (last === undefined) throw failure('request-timed-out', 'it does not say where it stands', remedy);
          const what = `port ${port} was asked for, and after ${settings.confirmTimeoutSeconds} s it ${inWords(last)}`;
          throw failure('answer-unexpected', what, remedy);
        }
        await nap(settings.lookSeconds, cancellation);
      }
    } finally {
      cancelDeadline();
      deadlines.delete(cancelDeadline);
    }
  };

  /** One move after the other: two at once would each see the other's port. The first begins at once. */
  const inTurn = <Result>(task: () => Promise<Result>): Promise<Result> => {
    const mine = moving === undefined ? task() : moving.then(task);
    const settled: Promise<void> = mine.then(
      () => undefined,
      () => undefined,
    );
    const tail = settled.then(() => {
      if (moving === tail) moving = undefined;
    });
    moving = tail;
    return mine;
  };

  const selector: PortSelector = {
    async select(port, cancellation) {
      if (!Number.isInteger(port) || port < 1 || port > settings.ports) {
        const remedy = `Ask for a port from 1 to ${settings.ports}, or correct the number of ports in the rig.`;
        throw failure('request-refused', `there is no port ${port}`, remedy);
      }
      return { atMicroseconds: await inTurn(() => move(port, cancellation)) };
    },
    async position(cancellation) {
      const { position, atMicroseconds } = await look(cancellation);
      if (position.stands === 'at') return { port: position.port, atMicroseconds };
      throw failure('answer-unexpected', `it ${inWords(position)}`, 'Look at the valve; ask it for a port.');
    },
  };

  const finish = (reason: string): void => {
    if (ended) return;
    ended = true;
    client.end(reason);
    for (const wake of naps) wake();
    for (const cancel of deadlines) cancel();
  };
  transport.onClose(finish);
  return {
    selector,
    get accountedBytes() {
      return client.accountedBytes;
    },
    end: () => {
      finish('the conversation was ended');
    },
  };
}
