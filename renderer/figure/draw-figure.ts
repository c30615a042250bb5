import { jointsOf, seen, type BodyJoints, type LimbJoints, type Point } from './body.ts';
import type { MovementFigure, Pose } from './pose.ts';

/** Colours of one figure. */
export interface FigureInk {
  readonly suit: string;
  readonly outline: string;
}

/** Where a figure stands in a picture: the ground below its middle, CSS px, and the height of its body, px. */
export interface FigurePlace {
  readonly x: number;
  readonly ground: number;
  readonly height: number;
}

type Context = CanvasRenderingContext2D;

/** A stroke of one width through points. */
interface Stroke {
  readonly points: readonly Point[];
  readonly width: number;
  /** Filled as well: the trunk. */
  readonly closed?: boolean;
}

const armWidth = 6.2;
const legWidth = 8.4;
const hoodRadius = 8.6;
/** Nearer or further than the trunk by more than this, a limb is drawn before or behind it. */
const besideTrunk = 2.5;

/** Width of the outline, in hundredths of the body's height: at least a pixel and a half in a small picture. */
function outlineOf(height: number): number {
  return Math.max(1.35, 150 / height);
}

/**
 * Draws a body in a suit: limbs of one width with an outline around all of them, the hood with its window, double lines
 * at wrists and ankles. Limbs before and behind the trunk have an outline of their own.
 */
export function drawFigure(
  context: Context,
  figure: Pick<MovementFigure, 'view'>,
  pose: Pose,
  place: FigurePlace,
  ink: FigureInk,
): void {
  const body = jointsOf(pose);
  const scale = place.height / 100;
  context.save();
  context.translate(place.x, place.ground);
  context.scale(scale, -scale);
  context.lineCap = 'round';
  context.lineJoin = 'round';
  const line = outlineOf(place.height);
  for (const layer of layersOf(body, figure.view)) drawLayer(context, layer, figure.view, line, ink);
  context.restore();
}

interface Layer {
  readonly strokes: readonly Stroke[];
  readonly cuffs: readonly LimbJoints[];
  readonly hood: BodyJoints | null;
}

function layersOf(body: BodyJoints, view: number): readonly Layer[] {
  const middle = seen(body.pelvis, view).near;
  const limbs = [
    ...body.legs.map((joints) => ({ joints, width: legWidth, leg: true })),
    ...body.arms.map((joints) => ({ joints, width: armWidth, leg: false })),
  ].map((one) => ({ ...one, near: seen(one.joints.middle, view).near - middle }));
  const layer = (chosen: typeof limbs, hood: BodyJoints | null, trunk: readonly Stroke[]): Layer => ({
    strokes: [...trunk, ...chosen.flatMap(({ joints, width, leg }) => limbStrokes(joints, width, leg))],
    cuffs: chosen.map(({ joints }) => joints),
    hood,
  });
  return [
    layer(limbs.filter(({ near }) => near < -besideTrunk), null, []),
    layer(limbs.filter(({ near }) => Math.abs(near) <= besideTrunk), body, [trunkOf(body)]),
    layer(limbs.filter(({ near }) => near > besideTrunk), null, []),
  ];
}

function limbStrokes({ root, middle, end, tip }: LimbJoints, width: number, leg: boolean): readonly Stroke[] {
  const whole: Stroke = { points: [root, middle, end], width };
  return leg ? [whole, { points: [end, tip], width: width * 0.86 }] : [whole];
}

function trunkOf({ pelvis, neck, arms, legs }: BodyJoints): Stroke {
  const waist = (shoulder: Point, hip: Point): Point => ({
    x: pelvis.x + (shoulder.x - neck.x) * 0.62 + (neck.x - pelvis.x) * 0.4 + (hip.x - pelvis.x) * 0.05,
    y: pelvis.y + (neck.y - pelvis.y) * 0.4,
    z: pelvis.z + (neck.z - pelvis.z) * 0.4 + (shoulder.z - neck.z) * 0.6,
  });
  const [left, right] = arms;
  const [leftHip, rightHip] = [legs[0].root, legs[1].root];
  return {
    points: [left.root, right.root, waist(right.root, rightHip), rightHip, leftHip, waist(left.root, leftHip)],
    width: 7.6,
    closed: true,
  };
}

function drawLayer(context: Context, layer: Layer, view: number, line: number, ink: FigureInk): void {
  if (layer.strokes.length === 0) return;
  for (const pass of ['outline', 'suit'] as const) {
    const more = pass === 'outline' ? 2 * line : 0;
    context.strokeStyle = ink[pass];
    context.fillStyle = ink[pass];
    for (const stroke of layer.strokes) {
      context.lineWidth = stroke.width + more;
      context.beginPath();
      stroke.points.forEach((point, index) => {
        const { across, up } = seen(point, view);
        if (index === 0) context.moveTo(across, up);
        else context.lineTo(across, up);
      });
      if (stroke.closed === true) {
        context.closePath();
        context.fill();
      }
      context.stroke();
    }
    if (layer.hood !== null) {
      const { across, up } = seen(layer.hood.head, view);
      context.beginPath();
      context.arc(across, up, hoodRadius + more / 2, 0, 2 * Math.PI);
      context.fill();
    }
  }
  context.strokeStyle = ink.outline;
  for (const joints of layer.cuffs) drawCuff(context, joints, view, line);
  if (layer.hood !== null) drawHood(context, layer.hood, view, line, ink);
}

/** Two lines across a limb, near its end. */
function drawCuff(context: Context, { middle, end }: LimbJoints, view: number, line: number): void {
  const [from, to] = [seen(middle, view), seen(end, view)];
  const [dx, dy] = [to.across - from.across, to.up - from.up];
  const length = Math.hypot(dx, dy);
  // Seen along its length it has no sides.
  if (length < 4) return;
  context.lineWidth = line * 0.75;
  context.beginPath();
  for (const share of [0.72, 0.86]) {
    const [x, y] = [from.across + dx * share, from.up + dy * share];
    const half = 3 / length;
    context.moveTo(x - dy * half, y + dx * half);
    context.lineTo(x + dy * half, y - dx * half);
  }
  context.stroke();
}

/** The outline of the hood all around, and its window where it looks to; none from behind. */
function drawHood(context: Context, { head, facing }: BodyJoints, view: number, line: number, ink: FigureInk): void {
  const at = seen(head, view);
  const to = seen(facing, view);
  context.lineWidth = line;
  context.beginPath();
  context.arc(at.across, at.up, hoodRadius + line / 2, 0, 2 * Math.PI);
  context.stroke();
  if (to.near < -0.45) return;
  const wide = 5.2 * Math.max(0.5, Math.min(1, Math.abs(to.near) + 0.15));
  context.fillStyle = ink.outline;
  context.beginPath();
  context.ellipse(at.across + to.across * 4.6, at.up + to.up * 4.6 + 0.6, wide, 3.3, 0, 0, 2 * Math.PI);
  context.fill();
}

/** Ladder or step, behind the figure. */
export function drawProp(context: Context, figure: MovementFigure, place: FigurePlace, colour: string): void {
  if (figure.prop === null) return;
  const scale = place.height / 100;
  context.save();
  context.translate(place.x, place.ground);
  context.scale(scale, -scale);
  context.strokeStyle = colour;
  context.lineWidth = outlineOf(place.height) * 0.8;
  context.lineCap = 'round';
  context.beginPath();
  if (figure.prop === 'step') {
    context.moveTo(11, 0);
    context.lineTo(11, 13);
    context.lineTo(46, 13);
    context.lineTo(46, 0);
  } else {
    for (const x of [24.5, 30]) {
      context.moveTo(x, 0);
      context.lineTo(x, 112);
    }
    for (let up = 8; up < 112; up += 11) {
      context.moveTo(24.5, up);
      context.lineTo(30, up);
    }
  }
  context.stroke();
  context.restore();
}
