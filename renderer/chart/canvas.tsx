import { useEffect, useRef, type ReactElement } from 'react';

/**
 * At most this often is a picture drawn anew, ms: with each of a screen's 60 pictures a second, and not with each of
 * 144. The time is a little short of one of the 60, so that their unrest does not make it every second one.
 */
const leastMilliseconds = 13;

/** Draws into a canvas of CSS pixels. @param at `performance.now()`, ms. */
export type Draw = (context: CanvasRenderingContext2D, width: number, height: number, at: number) => void;

/**
 * A picture that changes by itself, drawn past React. Nothing is drawn while it cannot be seen.
 * @param props.label what it shows, for those who do not see it.
 */
export function Canvas(props: {
  readonly draw: Draw;
  readonly label: string;
  readonly className?: string;
}): ReactElement {
  const place = useRef<HTMLCanvasElement>(null);
  const latest = useRef(props.draw);
  useEffect(() => {
    latest.current = props.draw;
  });
  useEffect(() => {
    const canvas = place.current;
    const context = canvas?.getContext('2d') ?? null;
    if (canvas === null || context === null) return;
    let frame = 0;
    let drawnAt = Number.NEGATIVE_INFINITY;
    const again = (at: number): void => {
      frame = requestAnimationFrame(again);
      if (at - drawnAt < leastMilliseconds) return;
      drawnAt = at;
      const ratio = window.devicePixelRatio;
      const { clientWidth: width, clientHeight: height } = canvas;
      if (width === 0 || height === 0) return;
      const wide = Math.round(width * ratio);
      const high = Math.round(height * ratio);
      if (canvas.width !== wide) canvas.width = wide;
      if (canvas.height !== high) canvas.height = high;
      context.setTransform(ratio, 0, 0, ratio, 0, 0);
      context.clearRect(0, 0, width, height);
      latest.current(context, width, height, performance.now());
    };
    frame = requestAnimationFrame(again);
    return () => cancelAnimationFrame(frame);
  }, []);
  return <canvas ref={place} className={props.className} role="img" aria-label={props.label} />;
}
