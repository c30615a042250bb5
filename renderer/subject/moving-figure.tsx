import type { ReactElement } from 'react';
import { Canvas } from '../chart/canvas.tsx';
import { themeColours } from '../chart/colours.ts';
import { drawFigure, drawProp } from '../figure/draw-figure.ts';
import { figures, placeAfter, poseAt, type MovementFigure } from '../figure/pose.ts';
import { useHostTime } from '../trial/host-time-context.ts';
import { subjectWords } from '../words/subject.ts';
import { beatsAt, type SubjectView } from './subject-view.ts';

const ringsInRow = 4;

/** Where a figure is in its movement, and which of its ends it goes to. */
interface Moment {
  readonly place: number;
  readonly towards: 0 | 1;
  /** Beats since the beginning; null when there is no beat. */
  readonly beats: number | null;
}

function momentOf(view: SubjectView, figure: MovementFigure, at: number | null, still: boolean): Moment {
  if (view.beat === null || at === null) return { place: 0, towards: 1, beats: null };
  const beats = Math.max(0, beatsAt(view.beat, at));
  const half = (beats * 2) / figure.beatsInCycle;
  const towards = Math.floor(half) % 2 === 0 ? 1 : 0;
  // Whoever asked their machine for less motion sees the ends one after the other.
  const place = still ? 1 - towards : placeAfter(beats, figure.beatsInCycle);
  return { place, towards, beats };
}

function wantsLessMotion(): boolean {
  return window.matchMedia('(prefers-reduced-motion: reduce)').matches;
}

/**
 * The movement as it is to be made, in its beat: the figure, pale the end that it goes to, and above them a ball that
 * is at an end of its arc with every beat.
 */
export function MovingFigure(props: { readonly view: SubjectView; readonly className: string }): ReactElement | null {
  const { view } = props;
  const time = useHostTime();
  if (view.movement === null) return null;
  const figure = figures[view.movement];
  return (
    <Canvas
      className={props.className}
      label={subjectWords.figure(view.title)}
      draw={(context, width, height, at) => {
        const colours = themeColours();
        const moment = momentOf(view, figure, time.at(at), wantsLessMotion());
        // With the arc above it, and arms overhead below that.
        const body = Math.min((height - 24) / 1.5, width / 1.06);
        const place = { x: width / 2, ground: height - 22, height: body };
        context.strokeStyle = colours.edge;
        context.lineWidth = Math.max(2, body / 160);
        context.beginPath();
        context.moveTo(width * 0.04, place.ground + 2);
        context.lineTo(width * 0.96, place.ground + 2);
        context.stroke();
        drawProp(context, figure, place, colours.edge);
        if (moment.beats !== null) {
          context.globalAlpha = 0.55;
          const pale = { suit: colours.panel, outline: colours.edge };
          drawFigure(context, figure, poseAt(figure, moment.towards), place, pale);
          context.globalAlpha = 1;
          drawArc(context, place, moment.place, colours.lit, colours.edge, colours.panel);
        }
        const ink = { suit: colours.panel, outline: colours.ink };
        drawFigure(context, figure, poseAt(figure, moment.place), place, ink);
      }}
    />
  );
}

/** The cadence as motion: a ball on an arc above the figure, at an end with every beat. */
function drawArc(
  context: CanvasRenderingContext2D,
  place: { readonly x: number; readonly ground: number; readonly height: number },
  along: number,
  lit: string,
  pale: string,
  ground: string,
): void {
  const { x, height } = place;
  const radius = height * 0.66;
  const middle = place.ground - height * 0.77;
  const widest = 0.68;
  const angle = (share: number): number => -Math.PI / 2 + (2 * share - 1) * widest;
  const ball = (share: number, size: number): void => {
    context.beginPath();
    context.arc(
      x + radius * Math.cos(angle(share)),
      middle + radius * Math.sin(angle(share)),
      size,
      0,
      2 * Math.PI,
    );
  };
  context.lineCap = 'round';
  context.lineWidth = Math.max(3, height / 120);
  context.strokeStyle = pale;
  context.setLineDash([1, Math.max(8, height / 45)]);
  context.beginPath();
  context.arc(x, middle, radius, angle(0), angle(1));
  context.stroke();
  context.setLineDash([]);
  context.fillStyle = ground;
  for (const end of [0, 1]) {
    ball(end, height * 0.022);
    context.fill();
    context.stroke();
  }
  context.fillStyle = lit;
  ball(along, height * 0.04);
  context.fill();
}

/** The beat as four rings, one of them full: seen from the corner of an eye. */
export function BeatRings(props: { readonly view: SubjectView; readonly className: string }): ReactElement | null {
  const { beat } = props.view;
  const time = useHostTime();
  if (beat === null) return null;
  return (
    <Canvas
      className={props.className}
      label={subjectWords.beatRings}
      draw={(context, width, height, atMilliseconds) => {
        const colours = themeColours();
        const at = time.at(atMilliseconds);
        const now = at === null ? -1 : Math.floor(beatsAt(beat, at));
        const size = Math.min(height, width / (ringsInRow * 1.5)) / 2 - 2;
        for (let ring = 0; ring < ringsInRow; ring += 1) {
          const full = now >= 0 && now % ringsInRow === ring;
          context.beginPath();
          context.arc(size + 2 + (ring * width) / ringsInRow, height / 2, size, 0, 2 * Math.PI);
          context.lineWidth = 3;
          context.strokeStyle = full ? colours.lit : colours.edge;
          context.fillStyle = colours.lit;
          if (full) context.fill();
          context.stroke();
        }
      }}
    />
  );
}
