import type { ReactElement } from 'react';
import { Canvas } from './canvas.tsx';
import { themeColours } from './colours.ts';
import { pattern } from './patterns.ts';
import { plot } from './plotted.ts';
import type { StreamRing } from './stream-ring.ts';

const second = 1_000_000;

/**
 * The last stretch of one stream as a thin line: proof of life, or a trend. Silence is crossed, not drawn over.
 * @param props.range values at the foot and the top; null: as far as the readings go.
 * @param props.limit a dashed line; null: none.
 * @param props.now time of the channel, µs; null when it is not known.
 */
export function Signal(props: {
  readonly ring: StreamRing;
  readonly seconds: number;
  readonly now: (at: number) => number | null;
  readonly silenceSeconds: number;
  /** How much older than it is the newest reading may look, µs; 0 when left out. */
  readonly onTheWay?: () => number;
  readonly range: readonly [number, number] | null;
  readonly limit: number | null;
  /** Stands at the dashed line. */
  readonly limitWord?: string;
  readonly label: string;
  readonly onAlarm?: boolean;
}): ReactElement {
  const { ring } = props;
  return (
    <Canvas
      className="signal"
      label={props.label}
      draw={(context, width, height, at) => {
        const now = props.now(at);
        if (now === null) return;
        const colours = themeColours();
        const ink = props.onAlarm === true ? colours.onhigh : colours.ink;
        const from = now - props.seconds * second;
        const first = ring.indexFrom(from);
        const [low, high] = props.range ?? span(ring, first);
        const xOf = (time: number): number => ((time - from) / (now - from)) * width;
        const yOf = (value: number): number => height - 4 - ((value - low) / (high - low)) * (height - 8);
        const crossed = (begin: number, end: number): void => {
          context.fillStyle = pattern(context, 'cross', props.onAlarm === true ? colours.onhigh : colours.edge);
          context.fillRect(xOf(begin), 0, xOf(end) - xOf(begin), height);
        };
        if (props.limit !== null) {
          context.strokeStyle = ink;
          context.lineWidth = 1.5;
          context.setLineDash([6, 5]);
          context.beginPath();
          context.moveTo(0, yOf(props.limit));
          context.lineTo(width, yOf(props.limit));
          context.stroke();
          context.setLineDash([]);
          context.fillStyle = props.onAlarm === true ? colours.onhigh : colours.ink2;
          context.font = '500 15px "Atkinson Hyperlegible Next Variable", sans-serif';
          context.textBaseline = 'bottom';
          context.fillText(props.limitWord ?? '', 0, yOf(props.limit) - 2);
        }
        context.strokeStyle = ink;
        context.lineWidth = 2;
        context.lineJoin = 'round';
        context.beginPath();
        const silence = props.silenceSeconds * second;
        plot(
          ring,
          {
            ...{ from, to: Number.POSITIVE_INFINITY, columnMicroseconds: (props.seconds * second) / width },
            ...{ silenceMicroseconds: silence, placeOf: (value) => value },
          },
          {
            begin: (time, value) => context.moveTo(xOf(time), yOf(value)),
            on: (time, value) => context.lineTo(xOf(time), yOf(value)),
          },
        );
        context.stroke();
        let before: number | null = null;
        for (let index = first; index < ring.length; index += 1) {
          const time = ring.timeAt(index);
          if (before !== null && time - before > silence) crossed(before, time);
          before = time;
        }
        const patience = silence + (props.onTheWay?.() ?? 0);
        if (before !== null && now - before > patience) crossed(before, now);
      }}
    />
  );
}

function span(ring: StreamRing, first: number): [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let index = first; index < ring.length; index += 1) {
    low = Math.min(low, ring.valueAt(index));
    high = Math.max(high, ring.valueAt(index));
  }
  if (!(high > low)) return Number.isFinite(low) ? [low - 1, low + 1] : [0, 1];
  return [low, high];
}
