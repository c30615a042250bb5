import type { UtilityProcess } from 'electron';
import { dirname, extname, isAbsolute } from 'node:path';
import type { Desktop } from './desktop.ts';
import type { HostLink } from './host-link.ts';
import { words } from './words.ts';

/** Where a packaged program has its parts. */
export interface HostPlaces {
  /** The host's bundle. */
  readonly entry: string;
  /** The native part of SQLite: packaged, it lies outside the archive, and nothing is left to a search. */
  readonly sqlite: string;
}

/** A host that this program started, and ends. */
export interface OwnHost extends HostLink {
  start(folder: string | null): void;
  /** Asks it to end and settles when it has: then everything recorded is on the disk. At once when none runs. */
  end(): Promise<void>;
}

/** A host that ends by itself is started again this often; then the person is told what it said. */
const restarts = 3;
/** A host that has run for so long has had a good run, ms: what ends it then is not what ended the last one. */
export const goodRunMilliseconds = 10 * 60_000;
/** After so long without an end the person is asked whether to wait for it, ms. */
export const endMilliseconds = 30_000;
/** How much of what it said is kept, characters. */
const saidLength = 2_000;

/** @param onGone it has ended by itself: with 0 because its last window went, with 1 for good. */
export function createOwnHost(
  desktop: Pick<Desktop, 'utilityProcess' | 'dialog'>,
  places: HostPlaces,
  environment: Readonly<Record<string, string | undefined>>,
  onGone: (status: 0 | 1) => void,
): OwnHost {
  const listeners: ((line: string) => void)[] = [];
  let child: UtilityProcess | null = null;
  let ending = false;
  let left = restarts;
  let whenEnded: (() => void)[] = [];

  const start = (folder: string | null): void => {
    let said = '';
    let spoke = false;
    const began = performance.now();
    ending = false;
    const started = desktop.utilityProcess.fork(
      places.entry,
      ['start', '--desktop', ...(folder === null ? [] : ['--folder', folder])],
      {
        serviceName: 'Chamberside host',
        stdio: 'pipe',
        env: { ...environment, CHAMBERSIDE_SQLITE: places.sqlite },
      },
    );
    child = started;
    started.stdout?.resume();
    started.stderr?.on('data', (bytes: Uint8Array) => {
      said = (said + Buffer.from(bytes).toString('utf8')).slice(-saidLength);
    });
    started.on('message', (line: unknown) => {
      if (typeof line !== 'string') return;
      spoke = true;
      for (const listener of listeners) listener(line);
    });
    started.once('exit', (status: number) => {
      child = null;
      for (const settle of whenEnded) settle();
      whenEnded = [];
      if (ending) return;
      if (status === 0 && spoke) return onGone(0);
      // Gone without a word about the trial: it is held in the record, and whoever comes next says what there is.
      for (const listener of listeners) listener('{"trial":false}');
      left = performance.now() - began > goodRunMilliseconds ? restarts : left - 1;
      if (left >= 0) return start(folder);
      desktop.dialog.showErrorBox(words.hostGoneTitle, words.hostGone(said.trim()));
      onGone(1);
    });
  };

  /** It may have much to write; it may also never answer. Only the person knows how long is too long. */
  const askAfterAWhile = (running: UtilityProcess): void => {
    const timer = setTimeout(() => {
      const buttons = [words.wait, words.endHost];
      const box = { type: 'warning' as const, message: words.hostStaysTitle, detail: words.hostStays, buttons };
      desktop.dialog
        .showMessageBox({ ...box, defaultId: 0, cancelId: 0, noLink: true })
        .then(({ response }) => {
          if (child !== running) return;
          if (response === 1) running.kill();
          askAfterAWhile(running);
        })
        .catch(() => undefined);
    }, endMilliseconds);
    running.once('exit', () => clearTimeout(timer));
  };

  return {
    onLine: (listener) => void listeners.push(listener),
    say: (word) => child?.postMessage(word),
    start(folder) {
      left = restarts;
      start(folder);
    },
    end() {
      const running = child;
      if (running === null) return Promise.resolve();
      ending = true;
      return new Promise((resolve) => {
        whenEnded.push(resolve);
        running.postMessage('end');
        askAfterAWhile(running);
      });
    },
  };
}

/** The folder of a study that a person chose, or null for anything that is not the absolute path of a study. */
export function folderOfStudy(path: string | undefined): string | null {
  if (path === undefined || path.includes('\0') || !isAbsolute(path) || extname(path) !== '.chamberside') return null;
  return dirname(path);
}
