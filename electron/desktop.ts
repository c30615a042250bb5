import type {
  App,
  BrowserWindow as Window,
  BrowserWindowConstructorOptions,
  Dialog,
  GlobalShortcut,
  Menu,
  PowerSaveBlocker,
  Session,
  utilityProcess,
} from 'electron';
import { hostMessage, type HostLink } from './host-link.ts';
import { menuTemplate } from './menu.ts';
import { folderOfStudy, type OwnHost } from './own-host.ts';
import { stopKeyChannel } from './page-bridge.ts';
import { createTrialGuard } from './trial-guard.ts';
import { guardSession, lockWindow, loopbackAddress, originOf, rankPageBelow, windowOptions } from './window.ts';
import { words } from './words.ts';

/** The part of Electron that the rim uses, so that a test can stand in for the runtime. */
export interface Desktop {
  readonly app: Pick<App, 'whenReady' | 'on' | 'quit' | 'exit' | 'enableSandbox' | 'requestSingleInstanceLock'>;
  readonly BrowserWindow: new (options: BrowserWindowConstructorOptions) => Window;
  readonly session: { readonly defaultSession: Session };
  readonly Menu: Pick<typeof Menu, 'buildFromTemplate' | 'setApplicationMenu'>;
  readonly dialog: Pick<Dialog, 'showMessageBox' | 'showOpenDialog' | 'showErrorBox'>;
  readonly globalShortcut: Pick<GlobalShortcut, 'register' | 'unregister'>;
  readonly powerSaveBlocker: Pick<PowerSaveBlocker, 'start' | 'stop'>;
  readonly utilityProcess: Pick<typeof utilityProcess, 'fork'>;
}

/** How long a page of this machine may take to load, ms. */
export const loadMilliseconds = 15_000;

/** @throws Error when that takes longer. */
async function inTime(task: Promise<void>, milliseconds: number): Promise<void> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<never>((_resolve, reject) => {
    timer = setTimeout(() => reject(new Error('the page did not load')), milliseconds);
  });
  await Promise.race([task, late]).finally(() => clearTimeout(timer));
}

/**
 * The whole desktop rim: one window on the host's loopback door, locked to it. The host decides everything; the rim
 * says `shown` when the page stands, and `stop` when the stop key is pressed in another program.
 *
 * When the host is gone without a word the window stays, because the page in it then says what to do.
 * @param link a host that started this program. A page that cannot be loaded then ends it with 3, and the host opens a
 *   browser window. @param own in its place, a host that this program starts: it is told `failed`, and opens one too.
 */
export function runDesktop(desktop: Desktop, link: HostLink, preload: string, own: OwnHost | null): void {
  const { app } = desktop;
  let window: Window | null = null;
  // The door that the window is locked to. Not what the window shows: before its first page that is nothing.
  let door: string | null = null;
  app.enableSandbox();
  if (own !== null && !app.requestSingleInstanceLock()) return app.exit(0);

  const guard = createTrialGuard(
    desktop,
    own === null ? words.closeTold : words.closeOwn,
    () => link.say('stop'),
    () => tellPage(),
  );
  const tellPage = (): void => {
    if (window !== null && !window.isDestroyed()) window.webContents.send(stopKeyChannel, guard.stopKey);
  };
  const drawMenu = (trialUnderWay: boolean): void => {
    const { Menu } = desktop;
    Menu.setApplicationMenu(Menu.buildFromTemplate(menuTemplate(own === null ? null : openStudy, trialUnderWay)));
  };
  const openStudy = (): void => {
    const filters = [{ name: words.studyFiles, extensions: ['chamberside'] }];
    desktop.dialog
      .showOpenDialog({ properties: ['openFile'], filters })
      .then(async ({ canceled, filePaths }) => {
        const folder = canceled ? null : folderOfStudy(filePaths[0]);
        // A trial may have begun while the box was open.
        if (folder === null || own === null || guard.trialUnderWay) return;
        await own.end();
        // The program may be asked to end while that takes its time.
        if (!quitting) own.start(folder);
      })
      .catch(() => undefined);
  };

  const open = (): Window => {
    const opened = new desktop.BrowserWindow(windowOptions(preload));
    lockWindow(opened, () => door, preload);
    opened.webContents.on('did-finish-load', () => {
      rankPageBelow(opened);
      tellPage();
    });
    // Nothing in a window whose page is gone says what to do.
    opened.webContents.on('render-process-gone', () => {
      if (window === opened && !opened.isDestroyed()) fail();
    });
    opened.on('close', (event) => {
      if (!guard.mayEnd(() => opened.close())) event.preventDefault();
    });
    return opened;
  };
  const show = async (address: string): Promise<void> => {
    await ready;
    if (window === null || window.isDestroyed()) window = open();
    door = originOf(address);
    await inTime(window.loadURL(address), loadMilliseconds);
    window.show();
    link.say('shown');
  };
  let failed = false;
  const fail = (): void => {
    if (own === null) return app.exit(3);
    failed = true;
    // The host goes on, under this program, with a browser's window.
    window?.destroy();
    window = null;
    link.say('failed');
  };

  const ready = app.whenReady().then(() => {
    guardSession(desktop.session.defaultSession, () => door);
    drawMenu(false);
  });
  // Without its guard or its menu there is no window: whoever wants one finds that, and gets a browser's.
  const settled = ready.catch(() => undefined);
  if (own !== null) {
    settled
      .then(() => own.start(null))
      .catch((error: unknown) => {
        desktop.dialog.showErrorBox(words.hostGoneTitle, words.hostGone(String(error)));
        app.exit(1);
      });
  }

  let ended = own === null;
  let quitting = false;
  app.on('before-quit', (event) => {
    if (!guard.mayEnd(() => app.quit())) return event.preventDefault();
    if (own === null || ended) return guard.release();
    // The host would end with this process, in the middle of its record: so this process ends after it.
    event.preventDefault();
    quitting = true;
    void own.end().then(() => {
      ended = true;
      guard.release();
      app.quit();
    });
  });
  app.on('window-all-closed', () => {
    // With a browser's window in place of this one, the host says when the program ends.
    if (!failed) app.quit();
  });
  app.on('second-instance', () => {
    window?.show();
    window?.focus();
  });

  link.onLine((line) => {
    const { end, trial, show: wanted } = hostMessage(line) ?? {};
    if (end === true && own === null) {
      guard.release();
      app.quit();
    }
    if (typeof trial === 'boolean') {
      // A menu that cannot be drawn costs nothing else: the guard comes first.
      settled
        .then(() => {
          guard.trial(trial);
          drawMenu(trial);
        })
        .catch(() => undefined);
    }
    const address = wanted === undefined ? null : loopbackAddress(wanted);
    if (address === null) return;
    failed = false;
    show(address).catch(fail);
  });
}
