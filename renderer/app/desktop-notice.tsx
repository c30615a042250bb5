import { useEffect, useState, type ReactElement } from 'react';
import { appWords } from '../words/app.ts';

type StopKeyState = 'off' | 'on' | 'refused';

/** What the desktop program puts into its window; a browser has none. `electron/page-bridge.ts` is the other side. */
interface DesktopBridge {
  onStopKey(listener: (state: StopKeyState) => void): void;
}

declare global {
  interface Window {
    readonly chambersideDesktop?: DesktopBridge;
  }
}

/** Says that the stop key works in this window only, for as long as a trial is under way and that is so. */
export function DesktopNotice(): ReactElement | null {
  const [stopKey, setStopKey] = useState<StopKeyState>('off');
  useEffect(() => window.chambersideDesktop?.onStopKey(setStopKey), []);
  if (stopKey !== 'refused') return null;
  return (
    <p className="app-notice" role="alert">
      {appWords.stopKeyRefused}
    </p>
  );
}
