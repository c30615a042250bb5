import { spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { createInterface } from 'node:readline';
import { fileURLToPath, pathToFileURL } from 'node:url';
import type { Connection } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { openTransport } from '../transport/open.ts';
import { rigGreetingSchema, rigReportSchema, type RigCommand, type RigGreeting } from './rig-messages.ts';
import { removeWireFolder } from './rig-wires.ts';
import { presentConnection, type CableChange, type RigAct, type RunningRig } from './running-rig.ts';

export interface StartRigProcessOptions {
  readonly wire: 'pty' | 'tcp';
  /** Name of a scenario that comes with the program, or path of a scenario file. */
  readonly scenario: string;
  readonly seed: number;
  readonly truthFile: string | null;
  /** The truth file is there already, from before a break, and is continued. Default: it is a new one. */
  readonly continueTruth?: boolean;
  /** For a rehearsal that goes on after a break. */
  readonly startedInside?: { readonly exercise: string | null };
}

export interface RigProcess extends RunningRig {
  readonly processId: number;
  /** The process ended without having been asked to; told once, also to a listener that is set later. */
  onLost(listener: (error: ChambersideError) => void): void;
  /** Lines that the rig refused: commands that it did not understand or cannot do. */
  onRefused(listener: (reason: string) => void): void;
  /** What the program did to the rig, in order. */
  onAct(listener: (act: RigAct) => void): void;
  /** Bytes given up because the program did not read, by instrument; null until the rig has ended cleanly. */
  readonly droppedBytes: ReadonlyMap<string, number> | null;
}

/** How long a rig may take to start, and to end when asked before it is ended by force, ms. */
const startLimitMilliseconds = 30_000;
const stopLimitMilliseconds = 5_000;
/** How much of what the rig said on its error output is kept for a message, characters. */
const errorTextLength = 4_000;

/** From source the sibling file through tsx, from a bundle the sibling bundle. */
function command(): string[] {
  const here = import.meta.url;
  if (here.endsWith('.ts')) {
    // Resolved from here: the working directory may be anywhere.
    const loader = pathToFileURL(createRequire(here).resolve('tsx')).href;
    return ['--import', loader, fileURLToPath(new URL('./rig-process.ts', here))];
  }
  return [fileURLToPath(new URL('./rig-process.js', here))];
}

function commandArguments(options: StartRigProcessOptions): string[] {
  const { startedInside } = options;
  return [
    ...command(),
    ...['--wire', options.wire, '--scenario', options.scenario, '--seed', String(options.seed)],
    ...(options.truthFile === null ? [] : ['--truth', options.truthFile]),
    ...(options.continueTruth === true ? ['--continue'] : []),
    ...(startedInside === undefined ? [] : ['--inside']),
    ...(startedInside?.exercise == null ? [] : ['--exercise', startedInside.exercise]),
  ];
}

/**
 * Starts the virtual rig as a process of its own and waits until its instruments can be opened. The rig ends with
 * this process, whatever becomes of it: its standard input closes.
 * @throws ChambersideError `rig-process-failed` with what the process said.
 */
export async function startRigProcess(options: StartRigProcessOptions): Promise<RigProcess> {
  const child = spawn(process.execPath, commandArguments(options), {
    stdio: ['pipe', 'pipe', 'pipe'],
    // In the desktop program this process is no plain Node, and its program starts as one only when told so.
    env: { ...process.env, ELECTRON_RUN_AS_NODE: '1' },
  });
  let errorText = '';
  let ended = false;
  let asked = false;
  const connections = new Map<string, Connection>();
  const cableListeners: ((change: CableChange) => void)[] = [];
  const actListeners: ((act: RigAct) => void)[] = [];
  const refusedListeners: ((reason: string) => void)[] = [];
  let lostListener: ((error: ChambersideError) => void) | undefined;
  let lost: ChambersideError | undefined;
  let droppedBytes: ReadonlyMap<string, number> | null = null;

  const failure = (what: string): ChambersideError =>
    new ChambersideError(
      'rig-process-failed',
      errorText.trim() === '' ? what : `${what}: ${errorText.trim()}`,
      `virtual rig on ${options.wire}, scenario ${options.scenario}`,
      options.wire === 'pty' ? 'Correct what it says, or try TCP ports (--wire tcp).' : 'Correct what it says.',
    );

  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    errorText = (errorText + text).slice(-errorTextLength);
  });
  // A rig that is gone cannot be told anything; its end is reported below.
  child.stdin.on('error', () => undefined);

  const gone = new Promise<void>((resolve) => {
    // "close" comes after the last of its output.
    child.once('close', (code, signal) => {
      ended = true;
      // A rig that was killed leaves the names of its pseudo-terminals behind.
      for (const connection of connections.values()) removeWireFolder(connection);
      connections.clear();
      if (!asked) {
        lost = failure(`the virtual rig ended (${signal ?? `exit ${String(code)}`})`);
        lostListener?.(lost);
      }
      resolve();
    });
  });

  const take = (line: string): void => {
    let message: unknown;
    try {
      message = JSON.parse(line);
    } catch {
      // A rig that speaks no JSON any more is as good as gone; its own words are the explanation.
      errorText = `${errorText}\n${line}`.slice(-errorTextLength);
      return;
    }
    const parsed = rigReportSchema.safeParse(message);
    if (!parsed.success) return;
    const report = parsed.data;
    if ('cable' in report) {
      const change = report.cable;
      if (change.state === 'back') connections.set(change.instrument, change.connection);
      else connections.delete(change.instrument);
      for (const listener of cableListeners) listener(change);
    } else if ('acted' in report) {
      for (const listener of actListeners) listener(report.acted);
    } else if ('refused' in report) {
      for (const listener of refusedListeners) listener(report.refused);
    } else {
      droppedBytes = new Map(Object.entries(report.ended.droppedBytes));
    }
  };

  const stop = async (): Promise<void> => {
    asked = true;
    if (!ended) {
      send({ stop: true });
      child.stdin.end();
      const term = setTimeout(() => child.kill('SIGTERM'), stopLimitMilliseconds);
      const kill = setTimeout(() => child.kill('SIGKILL'), 2 * stopLimitMilliseconds);
      await gone;
      clearTimeout(term);
      clearTimeout(kill);
    }
  };

  const send = (message: RigCommand): void => {
    if (!ended && child.stdin.writable) child.stdin.write(`${JSON.stringify(message)}\n`);
  };

  const lines = createInterface({ input: child.stdout });
  const greeting = await new Promise<RigGreeting>((resolve, reject) => {
    let settled = false;
    const fail = (what: string): void => {
      if (settled) return;
      settled = true;
      clearTimeout(timer);
      asked = true;
      child.kill('SIGKILL');
      reject(failure(what));
    };
    const timer = setTimeout(() => {
      fail(`the virtual rig did not start within ${startLimitMilliseconds / 1000} s`);
    }, startLimitMilliseconds);
    child.once('error', (error) => fail(`the virtual rig could not be started: ${error.message}`));
    void gone.then(() => fail('the virtual rig did not start'));
    lines.once('line', (line) => {
      const parsed = rigGreetingSchema.safeParse(parseJson(line));
      if (!parsed.success) {
        errorText = `${errorText}\n${line}`.slice(0, errorTextLength);
        fail('the virtual rig did not introduce itself');
        return;
      }
      settled = true;
      clearTimeout(timer);
      // Before any later line is taken, which may change them.
      for (const entry of Object.entries(parsed.data.connections)) connections.set(...entry);
      lines.on('line', take);
      resolve(parsed.data);
    });
  });

  return {
    processId: child.pid as number,
    rig: greeting.rig,
    series: greeting.series,
    monotonicOriginMicroseconds: greeting.monotonicOriginMicroseconds,
    connections,
    get droppedBytes() {
      return droppedBytes;
    },
    open: async (instrument, now) => openTransport(presentConnection(connections, instrument), now),
    cue: (cue) => send({ cue }),
    inject: (fault) => send({ fault }),
    handle: (hand) => send({ hand }),
    onCable: (listener) => {
      cableListeners.push(listener);
    },
    onRefused: (listener) => {
      refusedListeners.push(listener);
    },
    onAct: (listener) => {
      actListeners.push(listener);
    },
    onLost(listener) {
      lostListener = listener;
      const error = lost;
      if (error !== undefined) queueMicrotask(() => listener(error));
    },
    stop,
  };
}

/** JSON, or undefined for anything else. */
function parseJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
