import { expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { offeredSeries } from '../../../../src/host/runtime/offered-series.ts';
import type { Series } from '../../../../src/model/series.ts';

const { series } = demo;
const own: Series = { ...series, name: 'Our day', version: 3 };
const offered = (kept: Series[], running: Series | null) =>
  offeredSeries(
    { content: { series: kept } },
    { virtual: running === null ? null : { process: { series: running } } },
  );
const templates = offered([], null);
const beyond = (kept: Series[], running: Series | null) => offered(kept, running).slice(templates.length);

it('lists what the laboratory keeps as its own, an old version under the name of a template too', () => {
  expect(templates.every(({ mark }) => mark !== null && mark !== 'scenario')).toBe(true);
  const old = { ...series, version: 7, source: 'From before it was a template.' };
  expect(beyond([own, old], null)).toEqual([
    { series: own, mark: null },
    { series: old, mark: null },
  ]);
});

it('shows apart what differs under one name and version, and once what is the same', () => {
  expect(beyond([own], own)).toEqual([{ series: own, mark: null }]);
  expect(beyond([], series)).toEqual([]);
  const other = { ...own, exercises: own.exercises.slice(0, 1) };
  expect(beyond([own], other)).toEqual([
    { series: own, mark: null },
    { series: { ...other, name: 'Our day (of the scenario)' }, mark: 'scenario' },
  ]);
  const forged = { ...series, source: 'Ours.' };
  expect(beyond([forged], null)).toEqual([
    { series: { ...forged, name: `${series.name} (of the laboratory)` }, mark: null },
  ]);
  expect(offered([forged], other)[0]).toEqual(templates[0]);
});
