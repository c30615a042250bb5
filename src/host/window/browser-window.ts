import { spawn } from 'node:child_process';
import { accessSync, constants, mkdirSync, statSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { rankBelow } from './rank-below.ts';
import type { WindowOpener } from './window-opener.ts';

/** The machine, as far as it decides which browser there is: replaced in tests. */
export interface Machine {
  readonly platform: NodeJS.Platform;
  readonly environment: Readonly<Record<string, string | undefined>>;
  /** Null where users have no numbers. */
  readonly userId: number | null;
  isExecutable(path: string): boolean;
}

/** A command that shows an address. */
export interface BrowserCommand {
  readonly name: string;
  readonly program: string;
  readonly words: readonly string[];
  /** It hands the address to a browser and ends, so that its end says how that went. */
  readonly handsOver: boolean;
}

/** Browsers that can show a page as a window of its own, by the name of their program, best first. */
const windowBrowsers = [
  'chromium',
  'chromium-browser',
  'google-chrome',
  'google-chrome-stable',
  'microsoft-edge',
  'microsoft-edge-stable',
];

const macApplications = [
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  '/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge',
];

const windowsPrograms = [
  ['Google', 'Chrome', 'Application', 'chrome.exe'],
  ['Microsoft', 'Edge', 'Application', 'msedge.exe'],
];

export const thisMachine: Machine = {
  platform: process.platform,
  environment: process.env,
  userId: process.getuid?.() ?? null,
  isExecutable(path) {
    try {
      accessSync(path, constants.X_OK);
      return statSync(path).isFile();
    } catch {
      return false;
    }
  },
};

/**
 * Keep a browser of this kind from conversations of its own. Without the last word it asks for its maker's names over
 * the network as soon as it starts; what it needs is here, and has a number for a name.
 */
export const quietWords = [
  ...['--disable-background-networking', '--disable-component-update', '--disable-sync', '--disable-quic'],
  '--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost',
] as const;

/** The first of these programs on the search path, or null. */
export function onSearchPath(names: readonly string[], machine: Machine): string | null {
  const folders = (machine.environment['PATH'] ?? '').split(delimiter).filter((folder) => folder !== '');
  for (const name of names) {
    const found = folders.map((folder) => join(folder, name)).find((path) => machine.isExecutable(path));
    if (found !== undefined) return found;
  }
  return null;
}

/** Whether windows can be shown: elsewhere than on Windows and macOS the environment names the screen. */
export function hasScreen({ platform, environment }: Machine): boolean {
  if (platform === 'win32' || platform === 'darwin') return true;
  return [environment['DISPLAY'], environment['WAYLAND_DISPLAY']].some((name) => name !== undefined && name !== '');
}

/** Why nothing is tried then. */
export const noScreen = 'this machine shows no screen here (neither DISPLAY nor WAYLAND_DISPLAY is set)';

/**
 * How this machine shows an address, best first: as a window without a browser's bars, then as the person's own
 * browser would. Empty where there is no screen.
 * @param profileFolder of the browser that shows the window: nothing of the person's own browser is touched.
 */
export function browserCommands(address: string, profileFolder: string, machine: Machine): BrowserCommand[] {
  const commands: BrowserCommand[] = [];
  if (!hasScreen(machine)) return commands;
  const program = windowBrowser(machine);
  if (program !== null) {
    commands.push({
      name: 'a browser window',
      program,
      words: [
        `--app=${address}`,
        `--user-data-dir=${profileFolder}`,
        ...['--no-first-run', '--no-default-browser-check', '--window-size=1366,768'],
        ...quietWords,
        ...['--disable-background-timer-throttling', '--disable-renderer-backgrounding'],
        // Chromium refuses to run as root with its sandbox.
        ...(machine.userId === 0 ? ['--no-sandbox'] : []),
      ],
      handsOver: false,
    });
  }
  const handOver = ownBrowser(address, machine);
  if (handOver !== null) commands.push({ name: 'your browser', ...handOver, handsOver: true });
  return commands;
}

function windowBrowser(machine: Machine): string | null {
  const { platform, environment } = machine;
  if (platform === 'darwin') return macApplications.find((path) => machine.isExecutable(path)) ?? null;
  if (platform !== 'win32') return onSearchPath(windowBrowsers, machine);
  const roots = ['PROGRAMFILES', 'PROGRAMFILES(X86)', 'LOCALAPPDATA'].flatMap((name) => environment[name] ?? []);
  const candidates = windowsPrograms.flatMap((parts) => roots.map((root) => join(root, ...parts)));
  return candidates.find((path) => machine.isExecutable(path)) ?? null;
}

function ownBrowser(address: string, machine: Machine): { program: string; words: string[] } | null {
  if (machine.platform === 'darwin') return { program: '/usr/bin/open', words: [address] };
  if (machine.platform === 'win32') return { program: 'rundll32.exe', words: ['url.dll,FileProtocolHandler', address] };
  const program = onSearchPath(['xdg-open'], machine);
  return program === null ? null : { program, words: [address] };
}

/** How long a browser that does not start takes to fail, ms. */
const startMilliseconds = 1_500;

/**
 * Windows of a browser on this machine. Programs are started by path and words, never through a shell.
 * @param folder the host's; the window's browser keeps its profile in there.
 */
export function browserWindowOpener(folder: string, machine: Machine = thisMachine): WindowOpener {
  const profileFolder = join(folder, 'browser-window');
  let reason = '';
  return {
    name: 'a browser window',
    async open(address) {
      const commands = browserCommands(address, profileFolder, machine);
      for (const command of commands) {
        if (!command.handsOver) mkdirSync(profileFolder, { recursive: true, mode: 0o700 });
        if (await starts(command)) return true;
      }
      const tried = commands.map(({ program }) => program);
      if (!hasScreen(machine)) reason = noScreen;
      else if (tried.length === 0) reason = 'no browser was found on the search path';
      else reason = `${tried.join(' and ')} did not start, or ended at once`;
      return false;
    },
    whyNot: () => reason,
    // The window stays: the page in it says that the host has ended, and what to do.
    close: () => undefined,
  };
}

/** A browser that is still there after a moment, or has handed over to one that was open, has started. */
function starts(command: BrowserCommand): Promise<boolean> {
  return new Promise((resolve) => {
    const child = spawn(command.program, command.words, { detached: true, stdio: 'ignore', shell: false });
    child.unref();
    // The person's own browser is ranked as the person likes it.
    if (child.pid !== undefined && !command.handsOver) rankBelow(child.pid);
    const patience = setTimeout(() => resolve(true), startMilliseconds);
    child.once('error', () => settle(false));
    child.once('exit', (status) => settle(status === 0));
    const settle = (started: boolean): void => {
      clearTimeout(patience);
      resolve(started);
    };
  });
}
