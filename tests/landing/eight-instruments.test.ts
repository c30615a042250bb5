import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readTrial } from '../../src/host/store/read.ts';
import type { InstrumentConfiguration } from '../../src/model/rig.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { countModulus, flowNames, photometerNames, startEightInstruments } from '../support/load/eight-instruments.ts';
import type { EightInstruments } from '../support/load/eight-instruments.ts';
import { processorSeconds, quantile } from '../support/load/measures.ts';
import { openProgramWindow } from '../support/load/program-window.ts';
import { startTimedHost, type TimedHost } from '../support/load/timed-host.ts';

/** No multiple of anything that repeats in the host. */
const spacingMicroseconds = 43_000;
const idleDeadlines = 500;
/** One minute. */
const loadedDeadlines = 1_400;
const names = [...photometerNames, ...flowNames];

const folder = temporaryFolder();
let instruments: EightInstruments;
let host: TimedHost;
const idle: number[] = [];
let loaded: readonly number[] = [];
let processorShare = 0;
let linesPerSecond = 0;
let sent: Readonly<Record<string, number>> = {};
let record: TrialRecord;

/** Counts of the recorded readings of an instrument, in their order. */
function countsOf(instrument: string): number[] {
  const stream = record.streams.find(({ descriptor }) => descriptor.instrument === instrument);
  if (stream === undefined) throw new Error(`no stream of ${instrument}`);
  const scale = photometerNames.some((name) => name === instrument) ? 100_000 : 10;
  return Array.from(stream.values, (value) => Math.round(value * scale));
}

beforeAll(async () => {
  instruments = await startEightInstruments();
  host = startTimedHost(folder.path);
  const window = await openProgramWindow(await host.program.address());
  const { client } = window;
  await window.stepUp();
  idle.push(...(await host.measure(idleDeadlines, spacingMicroseconds, false)));
  const template = await client.rig.template({});
  const [kept] = template.instruments.filter(({ instrument }) => instrument === template.selectorValve);
  if (kept === undefined) throw new Error('the template has no valve');
  const speaking = (instrument: string, kind: string, dialect: string): InstrumentConfiguration => ({
    ...{ instrument, kind, dialect, settings: {} },
  });
  const rig = {
    ...template,
    name: 'Eight',
    // Its instruments exist only in software: no list of before the start is gone through.
    virtual: true,
    instruments: [
      { ...kept, settings: {} },
      ...photometerNames.map((name) => speaking(name, 'photometer', 'text-lines')),
      ...flowNames.map((name) => speaking(name, 'breathing', 'flow-lines')),
    ],
    photometer: photometerNames[0],
    heartRate: null,
  };
  await client.rig.save({ rig });
  await client.rig.open({ name: 'Eight' });
  for (const { instrument } of rig.instruments) {
    const path = instruments.lines[instrument === kept.instrument ? 'valve' : instrument];
    if (path === undefined) throw new Error(`no port for ${instrument}`);
    await client.rig.connect({ instrument, settings: { kind: 'serial', path, baudRate: 115_200 } });
  }
  await window.until('eight live instruments', ({ rig: now }) =>
    now.instruments.every(({ kind, readings, state }) => state === 'live' && (kind === kept.kind || readings > 0)),
  );
  const { file } = await client.study.create({ name: 'Eight instruments' });
  const { trial } = await client.trial.prepare({ ...window.plan(file), heartRateLimit: null });
  await window.command('start');

  const processId = host.program.child.pid ?? 0;
  const before = { seconds: processorSeconds(processId), at: performance.now(), ...window.trial().counts };
  loaded = await host.measure(loadedDeadlines, spacingMicroseconds, false);
  const seconds = (performance.now() - before.at) / 1000;
  processorShare = (processorSeconds(processId) - before.seconds) / seconds;
  linesPerSecond = (window.trial().counts.readings - before.readings) / seconds;

  sent = await instruments.silence();
  await new Promise((resolve) => setTimeout(resolve, 1_000));
  await window.command('stop', 'measured');
  await window.command('close');
  await window.until('the end', (snapshot) => ['done', 'failed'].includes(snapshot.trial?.ending ?? ''), 60);
  await client.trial.leave({});
  await client.rig.close({});
  idle.push(...(await host.measure(idleDeadlines, spacingMicroseconds, false)));
  window.leave();
  record = readTrial(join(folder.path, file), trial);
  const told = (values: readonly number[]): string =>
    [0.5, 0.99, 1].map((share) => (quantile(values, share) / 1000).toFixed(2)).join(' / ');
  console.log(
    `${linesPerSecond.toFixed(0)} lines/s, ${(100 * processorShare).toFixed(1)} % of a core, ` +
      `late by ms, median / p99 / most: idle ${told(idle)}, loaded ${told(loaded)}`,
  );
}, 300_000);
afterAll(async () => {
  await host.program.end();
  await instruments.end();
  folder.clear();
});

describe('eight instruments that speak 2 000 lines a second, recorded for a minute', () => {
  it('are as fast as that', () => {
    expect(linesPerSecond).toBeGreaterThan(0.97 * 2_000);
    expect(loaded).toHaveLength(loadedDeadlines);
  });

  it.each(names)('lose nothing: every line of %s from the first recorded to the last sent is in the record', (name) => {
    const counts = countsOf(name);
    expect(counts.length).toBeGreaterThan(0.97 * 60 * (2_000 / names.length));
    const wrong = counts.filter((count, at) => at > 0 && count !== ((counts[at - 1] as number) + 1) % countModulus);
    expect(wrong).toEqual([]);
    expect(counts.at(-1)).toBe((sent[name] ?? 0) % countModulus);
    const problems = record.events.filter((event) => event.kind === 'problem' && event.problem.instrument === name);
    // They fell silent before the record ended.
    expect(problems.filter((event) => event.kind === 'problem' && event.problem.code !== 'silence')).toEqual([]);
  });

  it('leave the host as prompt as it is: 99 of 100 within four times those of an idle host', () => {
    expect(quantile(loaded, 0.99)).toBeLessThanOrEqual(4 * quantile(idle, 0.99));
  });

  // Aimed at is a quarter, which is not reached: decision 0121. This finds only what makes it far worse.
  it('take half a core at most', () => {
    expect(processorShare).toBeLessThanOrEqual(0.5);
  });
});
