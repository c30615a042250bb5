import { describe, expect, it } from 'vitest';
import { jointsOf, lengths, seen, type Point } from '../../../../renderer/figure/body.ts';
import { figures, placeAfter, poseAt } from '../../../../renderer/figure/pose.ts';
import { movementSchema } from '../../../../src/model/series.ts';

const movements = movementSchema.options;
const places = Array.from({ length: 21 }, (_, index) => index / 20);

function apart(one: Point, other: Point): number {
  return Math.hypot(one.x - other.x, one.y - other.y, one.z - other.z);
}

describe.each(movements)('the figure of "%s"', (movement) => {
  const figure = figures[movement];

  it('keeps the lengths of its limbs all the way, and something of it on the ground or on the step', () => {
    for (const place of places) {
      const pose = poseAt(figure, place);
      const { arms, legs, neck, pelvis } = jointsOf(pose);
      expect(apart(neck, pelvis)).toBeCloseTo(lengths.trunk, 9);
      for (const { root, middle, end } of arms) {
        expect([apart(root, middle), apart(middle, end)].map((one) => one.toFixed(6))).toEqual(
          [lengths.upperArm, lengths.forearm].map((one) => one.toFixed(6)),
        );
      }
      for (const { root, middle, end } of legs) {
        expect([apart(root, middle), apart(middle, end)].map((one) => one.toFixed(6))).toEqual(
          [lengths.thigh, lengths.shank].map((one) => one.toFixed(6)),
        );
      }
      const lowest = Math.min(...[...arms, ...legs].flatMap(({ middle, end }) => [middle.y, end.y]));
      expect(lowest).toBeCloseTo(4.4 + pose.lift, 9);
    }
  });

  it('stays in its picture from the side that it is seen from', () => {
    for (const place of places) {
      const body = jointsOf(poseAt(figure, place));
      const ends = [...body.arms, ...body.legs].flatMap(({ middle, tip }) => [middle, tip]);
      const points = [body.head, body.pelvis, ...ends];
      for (const point of points) {
        const { across, up } = seen(point, figure.view);
        expect(Math.abs(across)).toBeLessThan(50);
        expect(up).toBeGreaterThan(0);
        expect(up).toBeLessThan(122);
      }
    }
  });

  it('moves without a jump, and comes to another place than where it began', () => {
    const hands = places.map((place) => jointsOf(poseAt(figure, place)));
    const joints = (body: (typeof hands)[number]): Point[] =>
      [...body.arms, ...body.legs].flatMap(({ middle, end }) => [middle, end]);
    for (const [index, body] of hands.entries()) {
      const before = hands[index - 1];
      if (before === undefined) continue;
      const steps = joints(body).map((point, at) => apart(point, joints(before)[at] ?? point));
      expect(Math.max(...steps)).toBeLessThan(9);
    }
    const [begin, end] = [hands[0], hands.at(-1)];
    if (begin === undefined || end === undefined) throw new Error('no pose');
    const far = Math.max(...joints(end).map((point, at) => apart(point, joints(begin)[at] ?? point)));
    if (movement === 'stand') expect(far).toBe(0);
    else expect(far).toBeGreaterThan(10);
  });
});

describe('a movement of two sides', () => {
  const twoSided = movements.filter((movement) => figures[movement].beatsInCycle === 2);
  it.each(twoSided)('%s: its ends mirror each other', (name) => {
    const [one, other] = [poseAt(figures[name], 0), poseAt(figures[name], 1)];
    const [left, right] = [jointsOf(one), jointsOf(other)];
    expect(left.arms[0].end.x).toBeCloseTo(-right.arms[1].end.x, 9);
    expect(left.legs[0].end.z).toBeCloseTo(right.legs[1].end.z, 9);
  });
});

describe('the place in a movement', () => {
  it('is an end with every beat of a side, and the same end with every beat of a whole movement', () => {
    expect([0, 1, 2, 3].map((beats) => placeAfter(beats, 2))).toEqual([0, 1, 0, 1]);
    for (const beats of [0, 1, 2, 3]) expect(placeAfter(beats, 1)).toBeCloseTo(0, 12);
    expect(placeAfter(0.5, 1)).toBeCloseTo(1, 12);
    expect(placeAfter(0.5, 2)).toBeCloseTo(0.5, 12);
  });
});
