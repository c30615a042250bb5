import type { RefObject } from 'react';
import { useLayoutEffect, useRef, useState } from 'react';

/** The size of an element's inside in CSS pixels, as it changes; zeros until it has been laid out. */
export function useSize<Element extends HTMLElement>(): {
  ref: RefObject<Element | null>;
  width: number;
  height: number;
} {
  const ref = useRef<Element>(null);
  const [size, setSize] = useState({ width: 0, height: 0 });
  useLayoutEffect(() => {
    const element = ref.current;
    if (element === null) return;
    const measure = (): void => {
      const { clientWidth: width, clientHeight: height } = element;
      setSize((before) => (before.width === width && before.height === height ? before : { width, height }));
    };
    measure();
    if (typeof ResizeObserver === 'undefined') return;
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => {
      observer.disconnect();
    };
  }, []);
  return { ref, ...size };
}
