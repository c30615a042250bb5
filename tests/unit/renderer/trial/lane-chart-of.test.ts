import { describe, expect, it } from 'vitest';
import { laneChart } from '../../../../renderer/trial/lane-chart-of.ts';
import { madeUpTrial } from '../../../support/screens/made-up-trial.ts';
import { ownRig } from '../../../support/screens/made-up.ts';
import { middle } from '../../../support/screens/scenes.ts';

function made(readingSeconds: number | null) {
  const trial = madeUpTrial(middle);
  const options = { trial, rig: ownRig, ring: null, laneHeight: 100, plainShare: 0.5, oneAxis: false, readingSeconds };
  return { trial, chart: laneChart(options)(middle) };
}

describe('the chart of lanes', () => {
  it('stands in body order, chamber and filtered air below, without gaps between lanes', () => {
    const { chart } = made(0.05);
    expect(chart.lanes.map(({ colour }) => colour)).toEqual([
      ...['hood', 'chest', 'back', 'thigh', 'ankle', 'ref', 'zero'],
    ]);
    for (const [index, lane] of chart.lanes.entries()) {
      const next = chart.lanes[index + 1];
      if (next !== undefined) expect(next.top).toBe(lane.top + lane.height);
    }
  });

  it('lights the lane of the port that is measured, and no other', () => {
    const { trial, chart } = made(0.05);
    expect(chart.lanes.filter(({ lit }) => lit).map(({ colour }) => colour)).toEqual([trial.now.probe]);
  });

  it('gives a dwell no usable part before settling is over', () => {
    for (const lane of made(0.05).chart.lanes) {
      for (const dwell of lane.dwells) expect(dwell.usableFrom).toBeGreaterThan(dwell.from);
    }
  });

  it('draws a line through the readings of a slow photometer', () => {
    expect(made(0.05).chart.silenceMicroseconds).toBe(1_000_000);
    expect(made(null).chart.silenceMicroseconds).toBe(1_000_000);
    expect(made(1).chart.silenceMicroseconds).toBe(4_000_000);
  });
});
