import { accessSync, constants, mkdirSync } from 'node:fs';
import { resolve } from 'node:path';
import { ChambersideError } from '../../model/error-code.ts';
import { openBrowserDoor } from '../door/browser-door.ts';
import type { ServedHost } from '../door/served-host.ts';
import type { StaticFiles } from '../door/static-files.ts';
import { programVersion } from '../version.ts';
import { openWindow, type WindowOpener } from '../window/window-opener.ts';
import { claimFolder } from './claim.ts';
import type { ExitCode, Output } from './command.ts';
import { serveDesktopWindows } from './desktop-windows.ts';

/** A host that can be ended: a trial under way is held, and everything recorded is on the disk, when it settles. */
export interface HostRuntime extends ServedHost {
  close(): Promise<void>;
  /** Told each time the last window has stayed away for a while; a trial that is under way then is held already. */
  onAlone(listener: (trialUnderWay: boolean) => void): () => void;
}

export type CreateHostRuntime = (options: { folder: string; program: string }) => Promise<HostRuntime>;

export interface ServeOptions {
  readonly folder: string;
  /** 0: one that is free. */
  readonly port: number;
  readonly json: boolean;
  /** Ways to show a window, best first; none: nobody wants one. */
  readonly openers: readonly WindowOpener[];
  readonly wantsWindow: boolean;
  /** Called in place of going on when the last window has gone and no trial is under way. */
  readonly endsAlone?: () => void;
  /** A virtual rig to begin with, or null. */
  readonly virtualRig: { readonly scenario: string; readonly seed: number | null } | null;
  readonly files: StaticFiles;
}

/** How long a window that was opened may take to connect before the terminal says what to do, ms. */
export const arrivalMilliseconds = 15_000;

/**
 * Runs a host and its door until `ended` settles, then ends both cleanly.
 * @throws ChambersideError when it cannot begin; nothing is left behind then.
 */
export async function serve(
  options: ServeOptions,
  createRuntime: CreateHostRuntime,
  output: Output,
  ended: Promise<string>,
): Promise<ExitCode> {
  const folder = resolve(options.folder);
  makeFolder(folder);
  const claim = claimFolder(folder, new Date().toISOString());
  const ends: (() => Promise<void> | void)[] = [() => claim.release()];
  try {
    const runtime = await createRuntime({ folder, program: programVersion });
    ends.push(() => runtime.close());
    let windowsCame = 0;
    /** Windows that were asked for and have not come yet. */
    let arriving = 0;
    let leftAlone = false;
    const showWindow = async (openers = options.openers): Promise<void> => {
      const before = windowsCame;
      arriving += 1;
      const opened = options.wantsWindow ? await openWindow(openers, () => door.issueAddress()) : null;
      if (opened === null || opened.shown === null) {
        arriving -= 1;
        const reasons = opened?.reasons ?? [];
        if (reasons.length > 0) output.note(`No window could be opened: ${reasons.join('; ')}.`);
        output.note(`Open this address in a browser on this machine: ${door.issueAddress()}`);
        return;
      }
      output.note(`Opened ${opened.shown}. For a second one, open ${door.issueAddress()}`);
      const arrival = setTimeout(() => {
        arriving -= 1;
        if (windowsCame > before) return;
        // What says that it shows a window may be gone before its page has come to the door.
        const others = openers.slice(openers.findIndex(({ name }) => name === opened.shown) + 1);
        if (others.length > 0) {
          output.note(`${opened.shown} has not come to the recorder; another way is tried.`);
          return void showWindow(others);
        }
        output.note(`No window has come up yet. Open this address in a browser: ${door.issueAddress()}`);
        if (leftAlone) options.endsAlone?.();
      }, arrivalMilliseconds);
      ends.push(() => clearTimeout(arrival));
    };
    const notAlone = runtime.onAlone((trialUnderWay) => {
      // One that is on its way is not nobody.
      if (!trialUnderWay && options.endsAlone !== undefined && arriving === 0) return options.endsAlone();
      leftAlone = !trialUnderWay;
      if (!trialUnderWay) {
        output.note(`The last window has closed; the host goes on. Open ${door.issueAddress()} or end it with Ctrl-C.`);
        return;
      }
      const bell = output.interactive ? '\u0007' : '';
      output.note(
        `${bell}NO WINDOW IS LEFT WHILE A TRIAL IS UNDER WAY. The trial is held; a new window goes on with it.`,
      );
      void showWindow();
    });
    ends.push(notAlone);
    const onRefused = (why: string): void => output.note(`The stop key could not stop the trial: ${why}`);
    options.openers.forEach((opener, index) => {
      opener.onLost?.(() => {
        output.note(`${opener.name} has failed; another way is tried.`);
        void showWindow(options.openers.slice(index + 1));
      });
    });
    ends.push(serveDesktopWindows(runtime, options.openers, onRefused));
    const door = await openBrowserDoor(
      {
        ...runtime,
        windowOpened(window) {
          windowsCame += 1;
          runtime.windowOpened(window);
          // An address lets one window in; whoever runs without windows of the program's own is given the next.
          if (!options.wantsWindow && !options.json) output.note(`For another window, open ${door.issueAddress()}`);
        },
      },
      {
        port: options.port,
        files: options.files,
        onDefect: (error, where) => output.note(`internal: ${where}: ${stackOf(error)}`),
      },
    );
    // The windows are told before the host ends, so that they know why it falls silent.
    ends.push(() => door.close());
    ends.push(() => {
      for (const opener of options.openers) opener.close();
    });
    const { virtualRig } = options;
    if (virtualRig !== null) {
      const started = runtime.procedures.rig.startVirtual(virtualRig, { window: 0 });
      // Whoever ends the program meanwhile does not wait for a rig.
      started.catch(() => undefined);
      await Promise.race([started, ended]);
    }
    if (options.files.page === null)
      output.note('The screens are not built: run npm ci, or npm start, in the program’s folder.');

    if (options.json) {
      const url = door.issueAddress();
      output.line(JSON.stringify({ url, port: door.port, processId: process.pid, folder, program: programVersion }));
    } else {
      output.line(`Chamberside ${programVersion} runs in ${folder}. Ctrl-C ends it.`);
    }
    // With JSON and without a window, the line is all that is said.
    if (options.wantsWindow || !options.json) await showWindow();
    const reason = await ended;
    output.note(`Ending (${reason}): a trial under way is held and its record finished.`);
  } finally {
    await endAll(ends.reverse());
  }
  return 0;
}

/** Every end is tried, whatever becomes of those before it. @throws what the first one threw that failed. */
async function endAll(ends: readonly (() => Promise<void> | void)[]): Promise<void> {
  const failures: unknown[] = [];
  for (const end of ends) {
    try {
      await end();
    } catch (error) {
      failures.push(error);
    }
  }
  if (failures.length > 0) throw failures[0];
}

/** @throws ChambersideError `folder-unusable`. */
function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
    accessSync(folder, constants.R_OK | constants.W_OK | constants.X_OK);
  } catch (error) {
    const what = whyUnusable((error as NodeJS.ErrnoException).code) ?? `The folder cannot be used: ${String(error)}`;
    throw new ChambersideError('folder-unusable', what, folder, 'Give a --folder that can be written.', error);
  }
}

function whyUnusable(code: string | undefined): string | null {
  switch (code) {
    case 'EEXIST':
    case 'ENOTDIR':
      return 'This is a file, or leads through one, where a folder is needed';
    case 'EACCES':
    case 'EPERM':
    case 'EROFS':
      return 'The folder may not be written, or not be made';
    case 'ENOSPC':
    case 'EDQUOT':
      return 'The disk is full, so the folder cannot be made';
    case 'ENAMETOOLONG':
      return 'The name of the folder or its path is too long for the disk';
    default:
      return null;
  }
}

function stackOf(error: unknown): string {
  return error instanceof Error ? (error.stack ?? error.message) : String(error);
}
