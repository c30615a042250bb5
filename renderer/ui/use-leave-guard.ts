import { useCallback, useEffect, useRef, useState } from 'react';

/** What asks before the window goes elsewhere; null: nothing would be lost. One screen at a time has it. */
let held: ((go: () => void) => void) | null = null;

/** Goes elsewhere in the window, or has the screen ask first. */
export function goGuarded(go: () => void): void {
  if (held === null) go();
  else held(go);
}

export interface LeaveGuard {
  /** Somebody wants to leave, and is asked. */
  readonly asking: boolean;
  /** Does it where nothing would be lost, and asks otherwise. */
  readonly attempt: (then: () => void) => void;
  readonly stay: () => void;
  /** Does what was asked about. */
  readonly leave: () => void;
}

/**
 * Asks once before what is changed is left: by a link, by whatever else goes to another address, by going back, or by
 * what the screen itself attempts. Who wants to go anywhere while asked has been asked, and goes. A reload is asked
 * about by the browser.
 */
export function useLeaveGuard(changed: boolean): LeaveGuard {
  const [asked, setAsked] = useState<{ readonly then: () => void } | null>(null);
  const latest = useRef(asked);
  const free = useRef(false);
  useEffect(() => {
    latest.current = asked;
  });
  const leaveFor = useCallback((then: () => void): void => {
    free.current = true;
    held = null;
    setAsked(null);
    then();
  }, []);
  useEffect(() => {
    if (!changed) {
      setAsked(null);
      return;
    }
    free.current = false;
    const ask = (then: () => void): void => {
      if (free.current || latest.current !== null) leaveFor(then);
      else setAsked({ then });
    };
    const toHash = (hash: string) => () => {
      window.location.hash = hash;
    };
    const click = (event: MouseEvent): void => {
      const link = event.target instanceof Element ? event.target.closest('a[href^="#"]') : null;
      if (free.current || link === null || event.ctrlKey || event.metaKey || event.shiftKey) return;
      event.preventDefault();
      event.stopPropagation();
      ask(toHash((link.getAttribute('href') ?? '').slice(1)));
    };
    // Back and forward have gone already when they are heard of: the address is put back before anybody reads it.
    const moved = (event: HashChangeEvent): void => {
      if (free.current || event.oldURL === event.newURL) return;
      event.stopImmediatePropagation();
      const to = window.location.hash.slice(1);
      window.history.replaceState(window.history.state, '', event.oldURL);
      ask(toHash(to));
    };
    const unload = (event: BeforeUnloadEvent): void => event.preventDefault();
    held = ask;
    document.addEventListener('click', click, { capture: true });
    window.addEventListener('hashchange', moved, { capture: true });
    window.addEventListener('beforeunload', unload);
    return () => {
      if (held === ask) held = null;
      document.removeEventListener('click', click, { capture: true });
      window.removeEventListener('hashchange', moved, { capture: true });
      window.removeEventListener('beforeunload', unload);
    };
  }, [changed, leaveFor]);
  return {
    asking: changed && asked !== null,
    attempt: (then) => {
      if (changed) setAsked({ then });
      else then();
    },
    stay: () => setAsked(null),
    leave: () => {
      if (asked !== null) leaveFor(asked.then);
    },
  };
}
