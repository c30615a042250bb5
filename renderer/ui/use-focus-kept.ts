import { useEffect } from 'react';

/**
 * Takes the keyboard to what is there now when what had the focus has gone from the screen: otherwise it falls to the
 * page, from where Tab begins at the very top and a reader of screens says nothing.
 */
export function useFocusKept(): void {
  useEffect(() => {
    let last: Element | null = null;
    const remember = (event: FocusEvent): void => {
      last = event.target instanceof Element ? event.target : null;
    };
    const look = (): void => {
      if (last === null || last.isConnected) return;
      const { activeElement } = document;
      if (activeElement !== null && activeElement !== document.body) return;
      // A screen that is still being loaded has none: the next change looks again.
      const main = document.querySelector('main');
      if (main === null) return;
      main.tabIndex = -1;
      main.focus({ preventScroll: true });
    };
    const observer = new MutationObserver(look);
    observer.observe(document.body, { childList: true, subtree: true });
    document.addEventListener('focusin', remember);
    return () => {
      observer.disconnect();
      document.removeEventListener('focusin', remember);
    };
  }, []);
}
