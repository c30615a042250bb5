import { useEffect, useRef } from 'react';

/** Calls `then` on a key, wherever the focus is but in a field that takes text. */
export function useHotkey(key: string | undefined, then: () => void, enabled = true): void {
  const latest = useRef(then);
  useEffect(() => {
    latest.current = then;
  });
  useEffect(() => {
    if (key === undefined || !enabled) return;
    const wanted = (key === 'Esc' ? 'Escape' : key).toLowerCase();
    const listen = (event: KeyboardEvent): void => {
      if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey) return;
      if (event.key.toLowerCase() !== wanted) return;
      const field = event.target instanceof Element && event.target.matches('input, select, textarea');
      if (field && wanted !== 'escape') return;
      event.preventDefault();
      latest.current();
    };
    window.addEventListener('keydown', listen);
    return () => {
      window.removeEventListener('keydown', listen);
    };
  }, [key, enabled]);
}
