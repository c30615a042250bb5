import type { Connection, Transport } from '../../device/transport.ts';
import { ChambersideError, errorCodes } from '../../model/error-code.ts';
import type { ErrorCode } from '../../model/error-code.ts';
import { createGuardFrameReader, encodeGuardFrame } from '../../safety/guard/frame.ts';
import type { GuardFrame } from '../../safety/guard/frame.ts';
import { fromGuardSchema } from '../../safety/guard/messages.ts';
import type { FromGuard, GuardDuty, GuardReport, GuardedTrial, ToGuard } from '../../safety/guard/messages.ts';
import { beatMicroseconds, silenceMicroseconds } from '../../safety/guard/watch.ts';
import { createReceiver, unheardReason } from '../transport/receiver.ts';
import type { Receiver } from '../transport/receiver.ts';
import { guardFailure, startGuard } from './start-guard.ts';
import type { StartedGuard } from './start-guard.ts';

/**
 * How long opening and giving back a line, and ending, may take, ms: a load is set to zero meanwhile, in three tries of
 * the longest time-out that an ergometer can be given (10 s). A guard that hangs is found by its beats, and earlier.
 */
const lineLimitMilliseconds = 45_000;

/** The host's side of the guard of one rig. */
export interface GuardLink {
  /** Its process; null while there is none. */
  readonly processId: number | null;
  guards(instrument: string): boolean;
  /**
   * Opens a line through the guard, which is started when there is none.
   * @param instruments everything on this line.
   * @throws ChambersideError `guard-failed`, and what opening the port throws.
   */
  open(connection: Connection, instruments: readonly string[]): Promise<Transport>;
  /** What reports are about from now on. */
  setTrial(trial: GuardedTrial | null): void;
  /** These reports stand in a record. */
  noted(reports: readonly string[]): void;
  /** Ends the guard; resolves when it has gone, or does not. */
  end(): Promise<void>;
}

export interface GuardLinkOptions {
  /** In which the guard leaves its address and its reports. */
  readonly folder: string;
  readonly duties: readonly GuardDuty[];
  /** The clock of the stamps, µs. */
  readonly now: () => number;
  /** It is gone, or does not answer: nobody watches the loads. */
  readonly onLost: (detail: string) => void;
  /** It watches every load that was opened before, from now on, each having been at zero when it was handed over. */
  readonly onWatching: () => void;
  /** It has acted, or is acting, without having been asked. */
  readonly onReport: (report: GuardReport) => void;
}

interface Line {
  readonly instruments: readonly string[];
  readonly receiver: Receiver;
  settle: ((outcome: { readonly label: string } | ChambersideError) => void) | undefined;
  closed: (() => void) | undefined;
}

/** One guard process, from its start to its end. */
interface Present {
  readonly started: StartedGuard;
  /** Its clock is this process's: its stamps can be taken. */
  sharedClock: boolean;
  readonly lines: Map<number, Line>;
  over: boolean;
}

export function createGuardLink(options: GuardLinkOptions): GuardLink {
  const { duties, now } = options;
  const guarded = new Set(duties.map(({ instrument }) => instrument));
  let present: Promise<Present> | undefined;
  let running: Present | undefined;
  let trial: GuardedTrial | null = null;
  let ending: Promise<void> | undefined;
  let nextLine = 0;
  /** Whatever of the guarded was opened once: loads, or else valves. */
  const loads = new Set(duties.filter(({ act }) => act.act === 'rest').map(({ instrument }) => instrument));
  const used = new Set<string>();

  const send = (to: Present, frame: GuardFrame): void => {
    if (!to.over && to.started.socket.writable) to.started.socket.write(encodeGuardFrame(frame));
  };
  const say = (to: Present, message: ToGuard): void => send(to, { frame: 'message', message });

  const start = async (): Promise<Present> => {
    const started = await startGuard(options.folder);
    const made: Present = { started, sharedClock: false, lines: new Map(), over: false };
    const { socket } = started;
    const read = createGuardFrameReader();
    const askedAt = now();
    let answeredAt = askedAt;
    let beatAt = askedAt;
    const unwatched = new Set([...used].filter((name) => (loads.size === 0 ? guarded : loads).has(name)));
    let greet: ((error: ChambersideError | null) => void) | undefined;

    const lose = (detail: string): void => {
      if (made.over) return;
      made.over = true;
      clearInterval(beats);
      socket.destroy();
      if (running === made) running = undefined;
      present = undefined;
      greet?.(guardFailure(detail));
      for (const line of made.lines.values()) {
        line.settle?.(guardFailure(detail));
        line.receiver.end(`the guard has gone: ${detail}`);
        line.closed?.();
      }
      made.lines.clear();
      if (ending !== undefined) return;
      started.clear();
      options.onLost(detail);
    };
    const beat = (): void => {
      const at = now();
      // A host that stood still itself has not read the answers yet.
      if (at - beatAt > 2 * beatMicroseconds) answeredAt = at;
      beatAt = at;
      if (at - answeredAt > silenceMicroseconds) {
        // It holds the ports: nobody else could get at the load.
        started.kill();
        lose('it did not answer for 1 s and was ended');
        return;
      }
      send(made, { frame: 'beat', atMicroseconds: made.sharedClock ? at : 0 });
    };

    const take = (message: FromGuard): void => {
      switch (message.say) {
        case 'welcome': {
          const at = message.nowMicroseconds;
          made.sharedClock = at >= askedAt && at <= now();
          greet?.(null);
          return;
        }
        case 'refused':
          lose(message.why);
          return;
        case 'opened': {
          const line = made.lines.get(message.line);
          line?.settle?.({ label: message.label });
          if (line === undefined) return;
          for (const name of line.instruments) used.add(name);
          if (!message.rested || unwatched.size === 0) return;
          for (const name of line.instruments) unwatched.delete(name);
          if (unwatched.size === 0) options.onWatching();
          return;
        }
        case 'not-opened': {
          const { code, what, where, remedy } = message;
          const known = Object.hasOwn(errorCodes, code) ? (code as ErrorCode) : 'port-failed';
          made.lines.get(message.line)?.settle?.(new ChambersideError(known, what, where, remedy));
          made.lines.delete(message.line);
          return;
        }
        case 'closed': {
          const line = made.lines.get(message.line);
          made.lines.delete(message.line);
          // The loads were taken before it was handed over.
          line?.settle?.(guardFailure(message.reason));
          line?.receiver.end(message.reason);
          line?.closed?.();
          return;
        }
        case 'report':
          options.onReport(message.report);
      }
    };
    const hear = (frame: GuardFrame): boolean => {
      if (frame.frame === 'bytes') {
        const arrived = now();
        const at = made.sharedClock ? Math.min(frame.atMicroseconds, arrived) : arrived;
        const line = made.lines.get(frame.line);
        if (line?.receiver.deliver(frame.bytes, at) === false) line.receiver.end(unheardReason);
      } else if (frame.frame === 'message') {
        const parsed = fromGuardSchema.safeParse(frame.message);
        if (!parsed.success) return false;
        take(parsed.data);
      } else {
        answeredAt = now();
      }
      return true;
    };
    socket.on('data', (chunk: Buffer) => {
      if (read(new Uint8Array(chunk))?.every(hear) === true || made.over) return;
      started.kill();
      lose('what it said could not be understood');
    });
    socket.on('error', () => undefined);
    socket.on('close', () => lose('its process has ended'));

    const beats = setInterval(beat, beatMicroseconds / 1000);
    await new Promise<void>((resolve, reject) => {
      greet = (error) => {
        greet = undefined;
        if (error === null) resolve();
        else reject(error);
      };
      const { token } = started.address;
      say(made, { say: 'hello', token, purpose: 'guard', duties: [...duties], restFirst: true });
    });
    say(made, { say: 'trial', trial });
    running = made;
    if (unwatched.size === 0) options.onWatching();
    return made;
  };

  const ensure = (): Promise<Present> => {
    if (ending !== undefined) return Promise.reject(guardFailure('the rig is being closed'));
    if (present === undefined) {
      const starting = start();
      present = starting;
      starting.catch(() => {
        if (present === starting) present = undefined;
      });
    }
    return present;
  };

  const within = async <Outcome>(doing: Promise<Outcome>, late: () => Outcome): Promise<Outcome> => {
    let timer: NodeJS.Timeout | undefined;
    const limit = new Promise<Outcome>((resolve) => {
      timer = setTimeout(() => resolve(late()), lineLimitMilliseconds);
    });
    try {
      return await Promise.race([doing, limit]);
    } finally {
      clearTimeout(timer);
    }
  };

  const transportOf = (guard: Present, number: number, line: Line, label: string): Transport => {
    let closing: Promise<void> | undefined;
    return {
      label: `${label}, guarded`,
      write(bytes) {
        if (line.receiver.ended || closing !== undefined || bytes.length === 0) return;
        send(guard, { frame: 'bytes', line: number, atMicroseconds: 0, bytes });
      },
      onBytes: line.receiver.onBytes,
      onClose: line.receiver.onClose,
      close() {
        closing ??= (async () => {
          if (line.receiver.ended) return;
          const closed = new Promise<void>((resolve) => {
            line.closed = resolve;
          });
          say(guard, { say: 'close', line: number });
          await within(closed, () => undefined);
          line.receiver.end('closed by the program');
          // Whoever listens has been told when this resolves.
          await Promise.resolve();
        })();
        return closing;
      },
    };
  };

  return {
    get processId() {
      return running?.started.address.processId ?? null;
    },
    guards: (instrument) => guarded.has(instrument),
    async open(connection, instruments) {
      if (connection.transport === 'in-process') {
        throw guardFailure(`${connection.name} exists only inside one process, where no guard can reach it`);
      }
      const guard = await ensure();
      const number = nextLine;
      nextLine += 1;
      const line: Line = { instruments, receiver: createReceiver(), settle: undefined, closed: undefined };
      guard.lines.set(number, line);
      const opened = new Promise<{ readonly label: string } | ChambersideError>((resolve) => {
        line.settle = resolve;
      });
      say(guard, { say: 'open', line: number, connection, instruments: [...instruments] });
      const outcome = await within(opened, () => guardFailure('it did not open the port in time'));
      line.settle = undefined;
      if (outcome instanceof ChambersideError) {
        guard.lines.delete(number);
        throw outcome;
      }
      return transportOf(guard, number, line, outcome.label);
    },
    setTrial(next) {
      if (next?.trial === trial?.trial) return;
      trial = next;
      if (running !== undefined) say(running, { say: 'trial', trial });
    },
    noted(reports) {
      if (running !== undefined && reports.length > 0) say(running, { say: 'noted', reports: [...reports] });
    },
    end() {
      ending ??= (async () => {
        const guard = await present?.catch(() => undefined);
        if (guard === undefined || guard.over) return;
        const gone = new Promise<void>((resolve) => guard.started.socket.once('close', () => resolve()));
        say(guard, { say: 'release' });
        await within(gone, () => guard.started.kill());
      })();
      return ending;
    },
  };
}
