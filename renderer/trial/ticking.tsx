import { useEffect, useRef, type ReactElement } from 'react';
import type { HostTime } from '../app/host-time.ts';
import { useHostTime } from './host-time-context.ts';

const lookMilliseconds = 100;

/**
 * Text that follows the host's clock, written past React ten times a second: it never waits for a snapshot.
 * @param text gives the words for a time of the channel, µs.
 */
export function Ticking(props: {
  readonly text: (atMicroseconds: number) => string;
  /** What the style hangs on besides, as `data-state`. */
  readonly state?: (atMicroseconds: number) => string;
  readonly className?: string;
}): ReactElement {
  const time = useHostTime();
  const place = useRef<HTMLSpanElement>(null);
  const latest = useRef(props);
  useEffect(() => {
    latest.current = props;
    write(place.current, time, props);
  });
  useEffect(() => {
    const timer = setInterval(() => write(place.current, time, latest.current), lookMilliseconds);
    return () => clearInterval(timer);
  }, [time]);
  return <span ref={place} className={props.className} />;
}

type Ticks = Pick<Parameters<typeof Ticking>[0], 'text' | 'state'>;

function write(place: HTMLSpanElement | null, time: HostTime, ticks: Ticks): void {
  const at = time.at(performance.now());
  if (place === null || at === null) return;
  const words = ticks.text(at);
  if (place.textContent !== words) place.textContent = words;
  const state = ticks.state?.(at);
  if (state !== undefined && place.dataset['state'] !== state) place.dataset['state'] = state;
}

/** A bar that grows with the host's clock, in the same way. @param share from 0 to 1 for a time of the channel, µs. */
export function TickingBar(props: {
  readonly share: (atMicroseconds: number) => number;
  readonly className: string;
}): ReactElement {
  const time = useHostTime();
  const place = useRef<HTMLElement>(null);
  const latest = useRef(props.share);
  useEffect(() => {
    latest.current = props.share;
    grow(place.current, time, props.share);
  });
  useEffect(() => {
    const timer = setInterval(() => grow(place.current, time, latest.current), lookMilliseconds);
    return () => clearInterval(timer);
  }, [time]);
  return <i ref={place} className={props.className} />;
}

function grow(place: HTMLElement | null, time: HostTime, share: (at: number) => number): void {
  const at = time.at(performance.now());
  if (place === null || at === null) return;
  place.style.width = `${(100 * Math.min(1, Math.max(0, share(at)))).toFixed(1)}%`;
}
