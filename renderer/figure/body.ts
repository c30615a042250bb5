import type { Limb, Pose } from './pose.ts';

/** x to the right of whoever looks from the front, y up, z towards them; in hundredths of the body's height. */
export interface Point {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/** Joints from the trunk outwards. */
export interface LimbJoints {
  readonly root: Point;
  readonly middle: Point;
  readonly end: Point;
  /** Where the foot points to; for an arm the same as its end. */
  readonly tip: Point;
}

export interface BodyJoints {
  readonly pelvis: Point;
  readonly neck: Point;
  readonly head: Point;
  /** Where the window of the hood looks to, of length 1. */
  readonly facing: Point;
  readonly arms: readonly [LimbJoints, LimbJoints];
  readonly legs: readonly [LimbJoints, LimbJoints];
}

/** Lengths in hundredths of the body's height: near those of a grown person in a loose suit, drawn and not measured. */
export const lengths = {
  trunk: 32,
  head: 15,
  halfShoulders: 9.5,
  halfHips: 4.8,
  upperArm: 16.5,
  forearm: 16,
  thigh: 22,
  shank: 21.5,
  foot: 6.5,
} as const;

/** Half of what is drawn around feet and knees: how far above the ground their middle line is. */
const soleHeight = 4.4;

const radians = (degrees: number): number => (degrees * Math.PI) / 180;

function add(one: Point, other: Point, times = 1): Point {
  return { x: one.x + other.x * times, y: one.y + other.y * times, z: one.z + other.z * times };
}

/** @param side −1 on the left, 1 on the right */
function direction(forward: number, out: number, side: number): Point {
  const [f, o] = [radians(forward), radians(out)];
  return { x: side * Math.sin(o) * Math.cos(f), y: -Math.cos(o) * Math.cos(f), z: Math.sin(f) };
}

/** About the upright: ahead goes to the left for a positive turn. */
function turned({ x, y, z }: Point, turn: number): Point {
  const t = radians(turn);
  return { x: x * Math.cos(t) - z * Math.sin(t), y, z: x * Math.sin(t) + z * Math.cos(t) };
}

function limb(root: Point, [f1, o1, f2, o2]: Limb, side: number, upper: number, lower: number, turn: number) {
  const middle = add(root, turned(direction(f1, o1, side), turn), upper);
  const end = add(middle, turned(direction(f2, o2, side), turn), lower);
  return { root, middle, end, tip: end };
}

/** The joints of a body in a pose, with its lowest part on the ground at y = 0. */
export function jointsOf(pose: Pose): BodyJoints {
  const [lean, tilt] = [radians(pose.lean), radians(pose.tilt)];
  const trunk: Point = { x: Math.sin(tilt) * Math.cos(lean), y: Math.cos(lean) * Math.cos(tilt), z: Math.sin(lean) };
  const pelvis: Point = { x: 0, y: 0, z: 0 };
  const neck = add(pelvis, trunk, lengths.trunk);
  // Whoever bends keeps the head nearer to upright than the back.
  const [headLean, headTilt] = [radians(pose.lean * 0.62), radians(pose.tilt * 0.85)];
  const upwards = {
    x: Math.sin(headTilt) * Math.cos(headLean),
    y: Math.cos(headLean) * Math.cos(headTilt),
    z: Math.sin(headLean),
  };
  const head = add(neck, upwards, lengths.head);
  const look = radians(pose.lean * 0.5);
  const facing = turned({ x: 0, y: -Math.sin(look), z: Math.cos(look) }, pose.turn);
  const across: Point = turned({ x: Math.cos(tilt), y: -Math.sin(tilt), z: 0 }, pose.turn);
  const arm = (side: -1 | 1, which: Limb): LimbJoints =>
    limb(add(neck, across, side * lengths.halfShoulders), which, side, lengths.upperArm, lengths.forearm, pose.turn);
  const leg = (side: -1 | 1, which: Limb): LimbJoints => {
    const hip: Point = { x: side * lengths.halfHips, y: -1, z: 0 };
    const joints = limb(hip, which, side, lengths.thigh, lengths.shank, 0);
    // The foot points ahead and hangs a little when the shank does; of whoever kneels it lies behind the shank.
    const shank = radians(which[2]);
    const kneels = which[2] < -75;
    const toe: Point = { x: side * 0.42, y: kneels ? 0 : Math.sin(shank) * 0.6, z: kneels ? -1 : Math.cos(shank) };
    return { ...joints, tip: add(joints.end, toe, lengths.foot) };
  };
  const body: BodyJoints = {
    ...{ pelvis, neck, head, facing },
    arms: [arm(-1, pose.arms[0]), arm(1, pose.arms[1])],
    legs: [leg(-1, pose.legs[0]), leg(1, pose.legs[1])],
  };
  const lowest = Math.min(...[...body.legs, ...body.arms].flatMap(({ middle, end }) => [middle.y, end.y]));
  return moved(body, { x: 0, y: soleHeight - lowest + pose.lift, z: pose.ahead });
}

function moved(body: BodyJoints, by: Point): BodyJoints {
  const limbBy = ({ root, middle, end, tip }: LimbJoints): LimbJoints => ({
    ...{ root: add(root, by), middle: add(middle, by), end: add(end, by), tip: add(tip, by) },
  });
  return {
    ...{ pelvis: add(body.pelvis, by), neck: add(body.neck, by), head: add(body.head, by), facing: body.facing },
    arms: [limbBy(body.arms[0]), limbBy(body.arms[1])],
    legs: [limbBy(body.legs[0]), limbBy(body.legs[1])],
  };
}

/** As somebody sees it: across and up in hundredths of the body's height, and how near. @param view degrees */
export function seen({ x, y, z }: Point, view: number): { readonly across: number; readonly up: number; near: number } {
  const v = radians(view);
  return { across: x * Math.cos(v) + z * Math.sin(v), up: y, near: z * Math.cos(v) - x * Math.sin(v) };
}
