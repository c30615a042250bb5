import type { Clock, Cancel } from '../device/timers.ts';
import type { Connection, Transport } from '../device/transport.ts';
import { isChambersideError } from '../model/error-code.ts';
import { createGuardFrameReader, encodeGuardFrame } from '../safety/guard/frame.ts';
import type { GuardFrame } from '../safety/guard/frame.ts';
import { toGuardSchema } from '../safety/guard/messages.ts';
import type { FromGuard, GuardAct, GuardDuty, GuardReport, GuardedTrial, ToGuard } from '../safety/guard/messages.ts';
import { againMicroseconds, beginGuard, nextGuard, nextLook } from '../safety/guard/watch.ts';
import type { GuardInput } from '../safety/guard/watch.ts';
import { createGuardedLine } from './guarded-line.ts';
import type { GuardedLine } from './guarded-line.ts';
import { begunAct, parkInstrument, rehearseDuty } from './park-instrument.ts';
import type { Parked } from './park-instrument.ts';

/** Where reports stay until somebody has noted them. It returns at once: no load waits for a disk. */
export interface ReportBook {
  /** A report that is there already is replaced. */
  write(report: GuardReport): void;
  forget(reports: readonly string[]): void;
  /** Resolves when all that was asked before was done, or tried. */
  settled(): Promise<void>;
}

/** A disk that hangs is not waited for longer than this by a guard that has nothing else to do, µs. */
const bookPatienceMicroseconds = 1_500_000;

export interface GuardOptions {
  /** The machine's monotonic clock: its stamps are the host's. */
  readonly clock: Clock;
  readonly wallNow: () => Date;
  readonly processId: number;
  readonly token: string;
  readonly newReport: () => string;
  readonly openTransport: (connection: Connection, now: () => number) => Promise<Transport>;
  readonly book: ReportBook;
  /** Calls back when what has arrived meanwhile was read: a guard that stood still itself must not blame the host. */
  readonly whenRead: (callback: () => void) => void;
  /** Every port has been given back: the process can end. */
  readonly onEnd: () => void;
}

/** One connection to whoever speaks to the guard. */
export interface GuardPeer {
  send(bytes: Uint8Array): void;
  /** Hangs up, after what was sent. */
  end(): void;
}

export interface Guard {
  /** @returns where what comes from the peer goes. */
  connect(peer: GuardPeer): { receive(bytes: Uint8Array): void; gone(): void };
  /** The system wants the process to end: loads first. */
  toldToEnd(why: string): void;
}

/** What became of each instrument, the newest try of it. */
function mergedActs(before: readonly GuardAct[], parked: readonly Parked[]): GuardAct[] {
  const acts = parked.map(({ act }) => act);
  const again = new Set(acts.map(({ instrument, what }) => `${instrument} ${what}`));
  return [...before.filter(({ instrument, what }) => !again.has(`${instrument} ${what}`)), ...acts];
}

export function createGuard(options: GuardOptions): Guard {
  const { book, clock } = options;
  let state = beginGuard(clock.now());
  let host: GuardPeer | undefined;
  let duties: readonly GuardDuty[] = [];
  let trial: GuardedTrial | null = null;
  /** Instruments whose load nobody knows to be at zero: it is set so before the host steers them. */
  const restFirst = new Set<string>();
  let cancelLook: Cancel | undefined;
  let cancelAgain: Cancel | undefined;
  let ended = false;
  /** By the number that the host gave. A line that broke stays: its load may still have to be set to zero. */
  const lines = new Map<number, GuardedLine>();
  const workingOn = new WeakMap<GuardedLine, Promise<Parked[]>>();
  /** Being set to zero before they are handed over. */
  const beingOpened = new Set<GuardedLine>();
  /** Nobody has taken over since: what is tried again belongs to it. */
  let report: GuardReport | undefined;

  const send = (frame: GuardFrame): void => host?.send(encodeGuardFrame(frame));
  const say = (message: FromGuard, to = host): void => to?.send(encodeGuardFrame({ frame: 'message', message }));

  const step = (input: GuardInput): void => {
    if (ended) return;
    const next = nextGuard(state, input, clock.now());
    state = next.state;
    cancelLook?.();
    const at = nextLook(state);
    if (Number.isFinite(at)) cancelLook = clock.at(at, () => options.whenRead(() => step({ input: 'look' })), true);
    for (const effect of next.effects) {
      if (effect.effect === 'park') void park(effect.why);
      else end();
    }
  };

  const end = (): void => {
    ended = true;
    cancelLook?.();
    cancelAgain?.();
    const closing = [...lines.values()].map((line) => line.close('the guard has ended'));
    const patience = (): Promise<void> => new Promise((resolve) => clock.after(bookPatienceMicroseconds, resolve));
    void Promise.allSettled(closing)
      .then(() => Promise.race([book.settled(), patience()]))
      .finally(() => {
        host?.end();
        options.onEnd();
      });
  };

  /** What must be done on a line, loads first: what hurts comes before what is measured. */
  const dutiesOn = (line: GuardedLine): GuardDuty[] => {
    const own = duties.filter(({ instrument }) => line.instruments.includes(instrument));
    return [...own.filter(({ act }) => act.act === 'rest'), ...own.filter(({ act }) => act.act !== 'rest')];
  };
  const performNow = async (line: GuardedLine, wanted: readonly GuardDuty[], began: number): Promise<Parked[]> => {
    const parked: Parked[] = [];
    for (const duty of wanted) {
      const transport = (): Promise<Transport> => line.taken();
      const times = { timers: clock, now: clock.now, beganAtMicroseconds: began };
      const done = await parkInstrument({ duty, transport, ...times });
      parked.push(done);
      // What is said of a line that was opened anew meanwhile is no longer about its load.
      if (duty.act.act !== 'rest' || ![...lines.values()].includes(line)) continue;
      if (done.settled) restFirst.delete(duty.instrument);
      else restFirst.add(duty.instrument);
    }
    return parked;
  };
  /** One after the other on a line: an answer belongs to who asked. */
  const perform = (line: GuardedLine, wanted: readonly GuardDuty[], began: number): Promise<Parked[]> => {
    const working = (workingOn.get(line) ?? Promise.resolve([])).then(() => performNow(line, wanted, began));
    workingOn.set(line, working);
    return working;
  };
  const write = (next: GuardReport): void => {
    book.write(next);
    say({ say: 'report', report: next });
  };

  const park = async (why: string): Promise<void> => {
    const began = clock.now();
    const isLoad = (line: GuardedLine): boolean => dutiesOn(line).some(({ act }) => act.act === 'rest');
    const valves = [...lines.values()].filter((line) => dutiesOn(line).length > 0 && !isLoad(line));
    const guarded = [...[...lines.values()].filter(isLoad), ...valves];
    for (const line of lines.values()) line.take(`the guard has taken it: ${why}`);
    const about = report ?? { report: options.newReport(), at: options.wallNow().toISOString(), why, trial };
    // The instruments first: drivers send in this turn, and the book writes in a later one.
    const working = Promise.all(guarded.map((line) => perform(line, dutiesOn(line), began)));
    const duties = guarded.flatMap(dutiesOn);
    const begun = { ...about, done: false, acts: report?.acts ?? duties.map(begunAct) };
    report = begun;
    book.write(begun);
    const parked = (await working).flat();
    report = { ...begun, done: true, acts: mergedActs(begun.acts, parked) };
    write(report);
    step({ input: 'park-done', acknowledged: parked.every(({ settled }) => settled) });
  };

  const forget = (number: number): void => {
    lines.delete(number);
    if (lines.size === 0) step({ input: 'all-closed' });
  };

  const open = async ({ connection, instruments, line }: Extract<ToGuard, { say: 'open' }>): Promise<void> => {
    const refuse = (code: string, what: string, where: string, remedy: string): void =>
      say({ say: 'not-opened', line, code, what, where, remedy });
    const where = instruments.join(', ');
    if (state.phase === 'parking') {
      refuse('port-busy', 'the guard is setting the loads to zero', where, 'Wait until it has finished.');
      return;
    }
    // What has been left open from before: the same port cannot be opened twice. It is known until the new one is open,
    // so that it can be opened again for its load.
    const before = [...lines].filter(([, known]) => known.instruments.some((name) => instruments.includes(name)));
    for (const [, known] of before) await known.yieldPort('it is opened again');
    let transport: Transport;
    try {
      transport = await options.openTransport(connection, clock.now);
    } catch (error) {
      for (const [, known] of before) known.reclaim(null);
      if (isChambersideError(error)) refuse(error.code, error.what, error.where, error.remedy);
      else refuse('port-failed', String(error), where, 'Look at the cable.');
      tryAgainSoon();
      if (lines.size === 0) step({ input: 'all-closed' });
      return;
    }
    const parking = (): boolean => state.phase === 'parking';
    if (ended || host === undefined || parking()) {
      const [first, ...rest] = before;
      if (ended || first === undefined) await transport.close();
      else first[1].reclaim(transport);
      for (const [, known] of rest) known.reclaim(null);
      refuse('port-busy', 'the guard has taken the loads meanwhile', where, 'Try again.');
      return;
    }
    const made = createGuardedLine({
      connection,
      instruments,
      transport,
      reopen: () => options.openTransport(connection, clock.now),
      onBytes: (bytes, atMicroseconds) => send({ frame: 'bytes', line, atMicroseconds, bytes }),
      onClosed: (reason) => say({ say: 'closed', line, reason }),
    });
    lines.set(line, made);
    for (const [number, known] of before) {
      lines.delete(number);
      void known.close('it is opened again');
    }
    report = undefined;
    // From now on it is watched, also while its load is being set to zero.
    step({ input: 'opened' });
    let rested = true;
    if (instruments.some((name) => restFirst.has(name))) {
      beingOpened.add(made);
      rested = await restLoads(made, 'nobody had watched it for a while');
      beingOpened.delete(made);
      if (parking() || !made.isOpen || ended) {
        tryAgainSoon();
        refuse('port-busy', 'the guard has taken the loads meanwhile', where, 'Try again.');
        return;
      }
      made.giveBack();
    }
    say({ say: 'opened', line, label: transport.label, rested });
    tryAgainSoon();
  };

  /**
   * A load that was not acknowledged, on a line that the host has not opened again, is tried on for as long as that is
   * so, also when the host steers everything else.
   */
  const tryAgainSoon = (): void => {
    const isLeft = (line: GuardedLine): boolean =>
      line.isHeld && !beingOpened.has(line) && line.instruments.some((name) => restFirst.has(name));
    const left = (): GuardedLine[] => [...lines.values()].filter(isLeft);
    if (ended || cancelAgain !== undefined || left().length === 0) return;
    cancelAgain = clock.after(againMicroseconds, () => {
      cancelAgain = undefined;
      // In the other phases the watch itself does it.
      const now = state.phase === 'watching' ? left() : [];
      void Promise.all(now.map((line) => restAgain(line))).finally(tryAgainSoon);
    });
  };
  const restAgain = async (line: GuardedLine): Promise<void> => {
    const loads = dutiesOn(line).filter(({ act }) => act.act === 'rest');
    const parked = await perform(line, loads, clock.now());
    if (!parked.every(({ settled }) => settled)) return;
    const why = 'it had not been acknowledged, and was tried again';
    const about = { report: options.newReport(), at: options.wallNow().toISOString(), trial };
    write({ ...about, why, done: true, acts: parked.map(({ act }) => act) });
  };

  /**
   * Sets the loads of a line to zero while the host waits; reported only when it cannot be done.
   * @returns whether it was done.
   */
  const restLoads = async (line: GuardedLine, why: string): Promise<boolean> => {
    line.take(null);
    const loads = dutiesOn(line).filter(({ act }) => act.act === 'rest');
    const parked = line.isOpen ? await perform(line, loads, clock.now()) : [];
    if (parked.every(({ settled }) => settled)) return true;
    const about = { report: options.newReport(), at: options.wallNow().toISOString(), trial };
    write({ ...about, why, done: true, acts: parked.map(({ act }) => act) });
    return false;
  };

  /** The host gives a line back. No load is left on it. */
  const close = async (number: number): Promise<void> => {
    const line = lines.get(number);
    if (line === undefined || state.phase !== 'watching') return;
    await restLoads(line, 'its line was given back');
    // Parked meanwhile: then it is held, as the others are.
    if (state.phase !== 'watching') return;
    await line.close('closed by the program');
    if (lines.get(number) === line) forget(number);
  };

  const take = (message: ToGuard): void => {
    switch (message.say) {
      case 'hello':
        return;
      case 'trial':
        trial = message.trial;
        return;
      case 'open':
        void open(message);
        return;
      case 'close':
        void close(message.line);
        return;
      case 'noted':
        book.forget(message.reports);
        return;
      case 'release':
        step({ input: 'told-to-end', why: 'the program ended' });
    }
  };

  const greet = (peer: GuardPeer, message: ToGuard): boolean => {
    const refuse = (why: string): false => {
      say({ say: 'refused', why }, peer);
      peer.end();
      return false;
    };
    if (message.say !== 'hello' || message.token !== options.token) return refuse('it did not introduce itself');
    if (host !== undefined) return refuse('a host has these ports');
    if (message.purpose === 'take-back') {
      step({ input: 'told-to-end', why: 'another host took the ports back' });
      return false;
    }
    try {
      for (const duty of message.duties) rehearseDuty(duty, clock);
    } catch (error) {
      return refuse(error instanceof Error ? error.message : String(error));
    }
    host = peer;
    duties = message.duties;
    if (message.restFirst) for (const { act, instrument } of duties) if (act.act === 'rest') restFirst.add(instrument);
    say({ say: 'welcome', processId: options.processId, nowMicroseconds: clock.now() });
    step({ input: 'host-came' });
    return true;
  };

  // A guard to which nobody ever comes ends as well.
  step({ input: 'look' });

  return {
    connect(peer) {
      const read = createGuardFrameReader();
      let isHost = false;
      let over = false;
      const leave = (why: string): void => {
        if (over) return;
        over = true;
        if (!isHost) return;
        host = undefined;
        step({ input: 'host-gone', why });
      };
      const hear = (frame: GuardFrame): boolean => {
        if (frame.frame === 'message') {
          const parsed = toGuardSchema.safeParse(frame.message);
          if (!parsed.success) return false;
          if (isHost) take(parsed.data);
          else isHost = greet(peer, parsed.data);
        } else if (isHost && frame.frame === 'beat') {
          const given = frame.atMicroseconds > 0 ? frame.atMicroseconds : clock.now();
          step({ input: 'beat', givenMicroseconds: given });
          send({ frame: 'beat', atMicroseconds: 0 });
        } else if (isHost && frame.frame === 'bytes') {
          lines.get(frame.line)?.write(frame.bytes);
        }
        return true;
      };
      return {
        receive(bytes) {
          if (over) return;
          const frames = read(bytes);
          if (frames?.every(hear) === true) return;
          leave('what the program said could not be understood');
          peer.end();
        },
        gone: () => leave('the program has ended'),
      };
    },
    toldToEnd: (why) => step({ input: 'told-to-end', why }),
  };
}
