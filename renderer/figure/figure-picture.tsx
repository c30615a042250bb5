import { useEffect, useRef, type ReactElement } from 'react';
import type { Movement } from '../../src/model/series.ts';
import { themeColours, type ColourName } from '../chart/colours.ts';
import { drawFigure, drawProp } from './draw-figure.ts';
import { figures, poseAt } from './pose.ts';

/** The movement that a still figure shows: where it is told best from the others. */
const tellingPlace: Partial<Readonly<Record<Movement, number>>> = { 'knee-bend': 1, reach: 1, step: 0.4 };

/** A movement as a still figure, standing on the lower edge. The words beside it say the same. */
export function FigurePicture(props: {
  readonly movement: Movement;
  readonly suit: ColourName;
  readonly outline: ColourName;
  readonly className?: string;
}): ReactElement {
  const { movement, suit, outline } = props;
  const place = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const canvas = place.current;
    if (canvas === null) return;
    const draw = (): void => drawStill(canvas, movement, suit, outline);
    draw();
    const watch = new ResizeObserver(draw);
    watch.observe(canvas);
    return () => watch.disconnect();
  });
  return <canvas ref={place} className={props.className} aria-hidden="true" />;
}

function drawStill(canvas: HTMLCanvasElement, movement: Movement, suit: ColourName, outline: ColourName): void {
  const context = canvas.getContext('2d');
  const { clientWidth: width, clientHeight: height } = canvas;
  if (context === null || width === 0 || height === 0) return;
  const ratio = window.devicePixelRatio;
  canvas.width = Math.round(width * ratio);
  canvas.height = Math.round(height * ratio);
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  const colours = themeColours();
  const figure = figures[movement];
  // Arms overhead and a ladder reach above the head.
  const body = Math.min(height / 1.26, width / 0.95);
  const where = { x: width / 2, ground: height - body * 0.03, height: body };
  drawProp(context, figure, where, colours[outline]);
  drawFigure(context, figure, poseAt(figure, tellingPlace[movement] ?? 0), where, {
    suit: colours[suit],
    outline: colours[outline],
  });
}
