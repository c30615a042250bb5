import type { Movement } from '../../src/model/series.ts';

/**
 * Directions of the two parts of a limb, degrees: how far forward and how far out from hanging down, first for upper
 * arm or thigh, then for forearm or shank. 90 forward is level ahead, 180 out is straight up.
 */
export type Limb = readonly [upperForward: number, upperOut: number, lowerForward: number, lowerOut: number];

/** How a body stands. Left and right are those of whoever looks at a figure that faces them. Angles in degrees. */
export interface Pose {
  /** The trunk forward from upright, and sideways to the right. */
  readonly lean: number;
  readonly tilt: number;
  /** The shoulders about the trunk, towards the left. */
  readonly turn: number;
  readonly arms: readonly [left: Limb, right: Limb];
  readonly legs: readonly [left: Limb, right: Limb];
  /** Above the ground and ahead of where it stood, in hundredths of the body's height. */
  readonly lift: number;
  readonly ahead: number;
}

/** What stands beside the body. */
export type Prop = 'ladder' | 'step' | null;

export interface MovementFigure {
  /** From which side it is best seen: 0 from the front, 90 with the body facing right, degrees. */
  readonly view: number;
  readonly prop: Prop;
  /** 2: a beat is one side, the next beat the other. 1: a beat is the whole movement, there and back. */
  readonly beatsInCycle: 1 | 2;
  /** From one end of the movement to the other, at equal distances. */
  readonly keys: readonly [Pose, ...Pose[]];
}

const straight: Limb = [0, 4, 0, 4];
const hanging: Limb = [4, 14, 10, 9];

const standing: Pose = {
  lean: 0,
  tilt: 0,
  turn: 0,
  arms: [hanging, hanging],
  legs: [straight, straight],
  lift: 0,
  ahead: 0,
};

function posed(change: Partial<Pose>): Pose {
  return { ...standing, ...change };
}

/** The other end of a movement that is the same on both sides. */
function mirrored(pose: Pose): Pose {
  const [leftArm, rightArm] = pose.arms;
  const [leftLeg, rightLeg] = pose.legs;
  return { ...pose, tilt: -pose.tilt, turn: -pose.turn, arms: [rightArm, leftArm], legs: [rightLeg, leftLeg] };
}

function bothSides(pose: Pose): readonly [Pose, Pose] {
  return [pose, mirrored(pose)];
}

const marching = posed({
  arms: [
    [-32, 9, -8, 5],
    [38, 9, 82, 2],
  ],
  legs: [[78, 5, -8, 3], straight],
});

const crawling = posed({
  lean: 72,
  arms: [
    [26, 4, 12, 4],
    [-14, 4, -18, 4],
  ],
  legs: [
    [-16, 4, -93, 4],
    [20, 4, -87, 4],
  ],
});

const climbing = posed({
  lean: 4,
  arms: [
    [146, 10, 116, 2],
    [82, 14, 118, 2],
  ],
  legs: [
    [22, 6, -2, 4],
    [84, 8, -14, 4],
  ],
});

/** Folded before the chest: outstretched they would point at something. */
const turning: Limb = [20, 62, 30, -100];

export const figures: Readonly<Record<Movement, MovementFigure>> = {
  stand: { view: 0, prop: null, beatsInCycle: 1, keys: [standing] },
  march: { view: 58, prop: null, beatsInCycle: 2, keys: bothSides(marching) },
  'knee-bend': {
    view: 66,
    prop: null,
    beatsInCycle: 1,
    keys: [
      posed({ arms: [hanging, hanging] }),
      posed({
        lean: 34,
        arms: [
          [88, 4, 88, 2],
          [88, 4, 88, 2],
        ],
        legs: [
          [92, 8, -42, 4],
          [92, 8, -42, 4],
        ],
      }),
    ],
  },
  reach: {
    view: 0,
    prop: null,
    beatsInCycle: 1,
    keys: [
      posed({
        arms: [
          [0, 16, 0, 10],
          [0, 16, 0, 10],
        ],
      }),
      posed({
        arms: [
          [0, 100, 0, 104],
          [0, 100, 0, 104],
        ],
      }),
      posed({
        arms: [
          [0, 168, 0, 178],
          [0, 168, 0, 178],
        ],
      }),
    ],
  },
  twist: { view: 0, prop: null, beatsInCycle: 2, keys: bothSides(posed({ turn: 52, arms: [turning, turning] })) },
  bend: {
    view: 0,
    prop: null,
    beatsInCycle: 2,
    keys: bothSides(
      posed({
        tilt: -30,
        arms: [
          [0, 2, 0, 0],
          [0, 12, 0, 10],
        ],
      }),
    ),
  },
  crawl: { view: 90, prop: null, beatsInCycle: 2, keys: bothSides(crawling) },
  ladder: { view: 76, prop: 'ladder', beatsInCycle: 2, keys: bothSides(climbing) },
  step: {
    view: 84,
    prop: 'step',
    beatsInCycle: 1,
    keys: [
      posed({ ahead: -12 }),
      posed({ ahead: -4, lean: 6, legs: [[66, 4, -16, 4], straight] }),
      posed({ ahead: 8, lift: 6, lean: 12, legs: [[46, 4, -20, 4], [-18, 4, -34, 4]] }),
      posed({ ahead: 17, lift: 13 }),
    ],
  },
};

/**
 * How the body stands at a moment of its movement.
 * @param place from 0 at one end to 1 at the other; what lies outside counts as the end.
 */
export function poseAt({ keys }: MovementFigure, place: number): Pose {
  const along = Math.min(1, Math.max(0, place)) * (keys.length - 1);
  const from = Math.min(Math.floor(along), Math.max(0, keys.length - 2));
  const first = keys[from] ?? keys[0];
  const second = keys[from + 1] ?? first;
  return between(first, second, along - from);
}

function between(one: Pose, other: Pose, share: number): Pose {
  const mix = (from: number, to: number): number => from + (to - from) * share;
  const limb = (from: Limb, to: Limb): Limb => [
    mix(from[0], to[0]),
    mix(from[1], to[1]),
    mix(from[2], to[2]),
    mix(from[3], to[3]),
  ];
  return {
    lean: mix(one.lean, other.lean),
    tilt: mix(one.tilt, other.tilt),
    turn: mix(one.turn, other.turn),
    arms: [limb(one.arms[0], other.arms[0]), limb(one.arms[1], other.arms[1])],
    legs: [limb(one.legs[0], other.legs[0]), limb(one.legs[1], other.legs[1])],
    lift: mix(one.lift, other.lift),
    ahead: mix(one.ahead, other.ahead),
  };
}

/**
 * Where a movement is when so many beats have passed since it began: slow at its ends, quick between them, at an end
 * with every beat; where a beat is the whole movement, at the same end.
 * @returns from 0 to 1, for `poseAt`.
 */
export function placeAfter(beats: number, beatsInCycle: 1 | 2): number {
  return (1 - Math.cos((2 * Math.PI * beats) / beatsInCycle)) / 2;
}
