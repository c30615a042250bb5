import { homedir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { ChambersideError } from '../../model/error-code.ts';
import { readStaticFiles } from '../door/static-files.ts';
import { checkScenario } from '../rehearsal/check-scenario.ts';
import { shippedScenarios } from '../rig/offers.ts';
import { browserWindowOpener } from '../window/browser-window.ts';
import {
  desktopEntry,
  desktopPackageFolder,
  desktopWindowOpener,
  findDesktopRuntime,
} from '../window/desktop-runtime.ts';
import { parentPort, parentWindowOpener, type ParentPort } from '../window/parent-port.ts';
import type { WindowOpener } from '../window/window-opener.ts';
import type { Command, Output } from './command.ts';
import { serve, type CreateHostRuntime } from './serve.ts';

/** The command that runs the program with its screens. */
export function startCommand(createRuntime: CreateHostRuntime): Command {
  return {
    name: 'start',
    summary: 'run the program: instruments, trials and their record, with a window on this machine',
    options: [
      {
        name: 'folder',
        value: 'FOLDER',
        help: 'studies and laboratory file, made when missing, default ~/Chamberside',
      },
      { name: 'port', value: 'N', help: 'port on 127.0.0.1, 1 to 65535, default one that is free' },
      { name: 'no-window', value: null, help: 'open no window: print the address that lets one in' },
      { name: 'desktop', value: null, help: 'given by the desktop program, which shows the window and ends the host' },
      {
        name: 'virtual-rig',
        value: 'SCENARIO',
        help: `begin with the virtual rig: ${shippedScenarios.join(', ')} or a file`,
      },
      { name: 'seed', value: 'N', help: 'whole number from 0 for the virtual rig, default drawn' },
    ],
    notes: [
      'An address lets one window in, once. With --json the first line on standard output is one JSON object: url',
      '(with the token of one window), port, processId, folder and program. --no-window --json prints only that.',
      'Only this machine is served. Ctrl-C (or SIGTERM) ends the host; a trial under way is held and can be resumed.',
    ],
    async run(values, output) {
      const folder = values.optional('folder') ?? join(homedir(), 'Chamberside');
      const scenario = values.optional('virtual-rig');
      const seed = values.wholeNumber('seed', { least: 0, most: Number.MAX_SAFE_INTEGER, otherwise: 0 });
      if (scenario !== undefined) checkScenario({ scenario, seed, resume: false });
      const wantsWindow = !values.has('no-window');
      const ending = endOf(output);
      const parent = values.has('desktop') ? requiredParent() : null;
      try {
        return await serve(
          {
            folder,
            port: values.has('port') ? values.wholeNumber('port', { least: 1, most: 65_535, otherwise: 1 }) : 0,
            json: values.json,
            wantsWindow,
            openers: wantsWindow ? openers(folder, parent, ending.end) : [],
            ...(parent === null ? {} : { endsAlone: () => ending.end('the last window has closed') }),
            virtualRig: scenario === undefined ? null : { scenario, seed: values.has('seed') ? seed : null },
            files: readStaticFiles(screensFolder()),
          },
          createRuntime,
          output,
          ending.ended,
        );
      } finally {
        ending.forget();
      }
    },
  };
}

function requiredParent(): ParentPort {
  const port = parentPort();
  if (port !== null) return port;
  const remedy = 'Leave --desktop out: the desktop window is tried first anyway.';
  throw new ChambersideError('usage-bad-value', 'no desktop program started this host', '--desktop', remedy);
}

function openers(folder: string, parent: ParentPort | null, end: (reason: string) => void): WindowOpener[] {
  if (parent !== null) {
    return [parentWindowOpener(parent, () => end('the desktop program ends')), browserWindowOpener(folder)];
  }
  const desktop = findDesktopRuntime(desktopPackageFolder(), desktopEntry());
  return [...(desktop === null ? [] : [desktopWindowOpener(desktop)]), browserWindowOpener(folder)];
}

/** The built screens: beside the program's bundle, or where the build puts them when the program runs from source. */
function screensFolder(): string {
  const here = import.meta.url;
  return fileURLToPath(new URL(here.endsWith('.ts') ? '../../../build/out/renderer/' : './renderer/', here));
}

const endSignals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/** Settles with the name of the first signal that ends the program; those after it are only answered. */
function endOf(output: Output): { ended: Promise<string>; end: (reason: string) => void; forget: () => void } {
  let first = true;
  let settle: (reason: string) => void = () => undefined;
  const ended = new Promise<string>((resolve) => {
    settle = resolve;
  });
  const onSignal = (signal: NodeJS.Signals): void => {
    if (!first) output.note('It is ending; the record is being finished.');
    first = false;
    settle(signal);
  };
  for (const signal of endSignals) process.on(signal, onSignal);
  return {
    ended,
    end: (reason) => settle(reason),
    forget() {
      for (const signal of endSignals) process.off(signal, onSignal);
    },
  };
}
