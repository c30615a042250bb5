import { describe, expect, it } from 'vitest';
import {
  countdownText,
  countUpText,
  freshness,
  laneInterval,
  laneSeen,
  laneValue,
  lastMarkText,
  readingScale,
  readingText,
} from '../../../../renderer/trial/trial-view.ts';
import type { LaneView } from '../../../../src/bridge/trial-snapshot.ts';
import { ownRig } from '../../../support/screens/made-up.ts';
import { madeUpTrial } from '../../../support/screens/made-up-trial.ts';
import { middle } from '../../../support/screens/scenes.ts';

const second = 1_000_000;

describe('the last mark', () => {
  const mark = (at: number, text: string) => ({ atMicroseconds: at * second, kind: 'mark', text, person: 'anna' });

  it('is empty before the first, and whatever else was noted', () => {
    expect(lastMarkText({ notes: [] })).toBe('');
    expect(lastMarkText({ notes: [{ ...mark(5, 'held by the operator'), kind: 'held' }] })).toBe('');
  });

  it('is the moment of the newest, or its words once they were written down', () => {
    const pressed = [mark(5, 'a cough'), mark(192, ''), { ...mark(200, 'started'), kind: 'running' }];
    expect(lastMarkText({ notes: pressed })).toBe('Last mark at 3:12');
    const written = [...pressed, mark(204, 'To the mark at 3:12: a sneeze')];
    expect(lastMarkText({ notes: written })).toBe('To the mark at 3:12: a sneeze');
  });
});

describe('the countdown', () => {
  it('shows the second that is left', () => {
    const until = 100 * second;
    expect(countdownText(until, until - 41 * second)).toBe('0:41');
    expect(countdownText(until, until - 40 * second - 1)).toBe('0:41');
    expect(countdownText(until, until - 1)).toBe('0:01');
    expect(countdownText(until, until)).toBe('0:00');
    expect(countdownText(until, until + 5 * second)).toBe('0:00');
    expect(countdownText(until, until - 600 * second)).toBe('10:00');
  });

  it('skips no figure when it is written ten times a second', () => {
    const until = 90 * second;
    const figures: string[] = [];
    for (let at = 0; at <= until; at += 100_000) {
      const text = countdownText(until, at + (at % 700_000) / 10);
      if (figures.at(-1) !== text) figures.push(text);
    }
    expect(figures).toHaveLength(91);
  });

  it('counts up from the second that has begun', () => {
    expect(countUpText(0, 999_999)).toBe('0:00');
    expect(countUpText(0, 72 * second)).toBe('1:12');
  });
});

const lane: LaneView = {
  probe: 'thigh',
  state: 'waiting',
  windowPercent: 0.0512,
  windowLowPercent: null,
  windowHighPercent: null,
  detectionLimitPercent: 0.006,
  belowDetectionLimit: false,
  measuredToMicroseconds: 0,
  usableSeconds: 11,
  usableSecondsPlanned: 11,
  flags: [],
  detail: null,
};

describe('the value of a lane', () => {
  it('has two figures', () => {
    expect(laneValue(lane)).toBe('0.051');
    expect(laneValue({ ...lane, windowPercent: 0.1 })).toBe('0.10');
    expect(laneValue({ ...lane, windowPercent: 9.96 })).toBe('10');
  });

  it('is the limit where it lies below it, and no number where there is none', () => {
    expect(laneValue({ ...lane, windowPercent: 0.002, belowDetectionLimit: true })).toBe('<\u00a00.006');
    expect(laneValue({ ...lane, windowPercent: -0.001, belowDetectionLimit: true })).toBe('<\u00a00.006');
    expect(laneValue({ ...lane, state: 'no-result' })).toBeNull();
    expect(laneValue({ ...lane, state: 'not-yet', windowPercent: null })).toBeNull();
  });

  it('says why there is none', () => {
    expect(laneSeen({ ...lane, state: 'no-result', detail: 'valve stays on port 3' })).toBe('valve stays on port 3');
  });

  it('has an interval once one is worked out, and only while there is a value', () => {
    const known = { ...lane, windowLowPercent: 0.044, windowHighPercent: 0.0613 };
    expect(laneInterval(lane)).toBeNull();
    expect(laneInterval(known)).toBe('0.044 – 0.061');
    expect(laneInterval({ ...known, state: 'no-result' })).toBeNull();
  });

  it('says how much has been seen', () => {
    expect(laneSeen({ ...lane, state: 'measuring', usableSeconds: 7.9 })).toBe('7 of 11 s usable');
    expect(laneSeen({ ...lane, usableSeconds: 5 })).toBe('6 s more');
    expect(laneSeen(lane)).toBe('enough');
  });
});

describe('the scale of raw readings', () => {
  it('makes the reference a hundred percent, and zero nothing', () => {
    const trial = madeUpTrial(middle);
    const scale = readingScale(trial, ownRig);
    if (scale === null || trial.challenge === null) throw new Error('the made-up trial has a reference');
    const port = ownRig.ports.find(({ probe }) => probe === 'thigh');
    const reference = ownRig.ports.find(({ role }) => role === 'reference');
    if (port === undefined || reference === undefined) throw new Error('the rig has both ports');
    const challenge =
      ((trial.challenge.meanReading - scale.zero) * reference.dilution.value * ownRig.spatialFactor.value) /
      reference.penetration.value;
    const reading = scale.zero + (challenge * 0.0025 * port.penetration.value) / port.dilution.value;
    expect((reading - scale.zero) * (scale.percentPerReading.get('thigh') ?? 0)).toBeCloseTo(0.25, 10);
  });

  it('is not there before the first reference or zero', () => {
    expect(readingScale(madeUpTrial(middle, { challenge: null }), ownRig)).toBeNull();
    expect(readingScale(madeUpTrial(middle, { filteredAir: null }), ownRig)).toBeNull();
  });
});

describe('how old a value is', () => {
  it('is told half an interval after the next should have come, and long before silence', () => {
    expect(freshness(1.4, 1, 5)).toBe('fresh');
    expect(freshness(1.6, 1, 5)).toBe('old');
    expect(freshness(2.9, 2, 5)).toBe('fresh');
    expect(freshness(5.1, 1, 5)).toBe('none');
    expect(freshness(null, 1, 5)).toBe('none');
  });

  it('is nothing where values come as they come', () => {
    expect(freshness(4.9, null, 5)).toBe('fresh');
  });
});

describe('a reading', () => {
  it('shows no more than its resolution', () => {
    expect(readingText(11.6234, 0.001)).toBe('11.6');
    expect(readingText(0.0312, 0.01)).toBe('0.03');
  });
});
