import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readTrial } from '../../../src/host/store/read.ts';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import type { InstrumentConfiguration } from '../../../src/model/rig.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { temporaryFolder } from '../command-line.ts';
import { countModulus, flowNames, photometerNames, startEightInstruments } from './eight-instruments.ts';
import type { EightInstruments } from './eight-instruments.ts';
import { processorSeconds, quantile } from './measures.ts';
import { openProgramWindow } from './program-window.ts';
import { startTimedHost, type TimedHost } from './timed-host.ts';

type OfferedSeries = Snapshot['series'][number];

/** No multiple of anything that repeats in the host. */
const spacingMicroseconds = 43_000;
const idleDeadlines = 500;
const names = [...photometerNames, ...flowNames];

/**
 * Records eight instruments that speak 2 000 lines a second, for so many minutes of a trial, and demands that nothing
 * is lost, that the host stays prompt beside its own idle floor, and that it takes half a core at most. Prints what it
 * measured. To be called at the top of a test file of its own.
 */
export function recordEightInstruments(minutes: number): void {
  const loadedDeadlines = Math.ceil((minutes * 60_000_000) / spacingMicroseconds);
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
    const plan = { ...window.plan(file), heartRateLimit: null };
    const { trial } = await client.trial.prepare({ ...plan, series: longEnough(window.snapshot().series, minutes) });
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
  }, minutes * 60_000 + 240_000);
  afterAll(async () => {
    await host.program.end();
    await instruments.end();
    folder.clear();
  });

  describe(`eight instruments that speak 2 000 lines a second, recorded for ${minutes} min`, () => {
    it('are as fast as that', () => {
      expect(linesPerSecond).toBeGreaterThan(0.97 * 2_000);
      expect(loaded).toHaveLength(loadedDeadlines);
    });

    it.each(names)('lose nothing: every line of %s from the first recorded to the last sent is there', (name) => {
      const counts = countsOf(name);
      expect(counts.length).toBeGreaterThan(0.97 * 60 * minutes * (2_000 / names.length));
      const next = (at: number): number => ((counts[at - 1] as number) + 1) % countModulus;
      const wrong = counts.filter((count, at) => at > 0 && count !== next(at));
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
}

/** The last series that is offered and lasts longer: the valve turns until the end of the measurement. */
function longEnough(series: readonly OfferedSeries[], minutes: number): { name: string; version: number } {
  const found = series.findLast(({ durationSeconds }) => durationSeconds > 60 * minutes + 30);
  if (found === undefined) throw new Error(`no series lasts ${minutes} min`);
  return { name: found.name, version: found.version };
}
