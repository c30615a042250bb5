import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { readTrial } from '../../src/host/store/read.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { driveRuntime } from '../support/runtime/drive.ts';
import type { Driver } from '../support/runtime/drive.ts';
import { writeQuickScenario } from '../support/runtime/quick-scenario.ts';

const folder = temporaryFolder();
beforeAll(() => void writeQuickScenario(folder.path, ['march']));
afterAll(() => folder.clear());

let driver: Driver;
beforeEach(async () => {
  driver = await driveRuntime({ folder: folder.path, virtualRigWire: 'tcp' });
});
afterEach(() => driver.end());

const refused = (code: string): unknown => expect.objectContaining({ code });

describe('a series of the laboratory', () => {
  it('begins from a template, is kept version by version, and a trial keeps the version it ran', async () => {
    const { procedures, window } = driver;
    const { file } = await driver.setUp();
    const offered = await procedures.series.list({}, window);
    const template = offered.find(({ series }) => series.name === 'Three work steps');
    if (template === undefined) throw new Error('the template is missing');
    expect(template.mark).toBe('own');
    await expect(procedures.series.save({ series: template.series, newest: 0 }, window)).rejects.toThrow(
      refused('configuration-invalid'),
    );
    const [first] = template.series.exercises;
    if (first === undefined) throw new Error('the template has no exercise');
    const faulty = { ...template.series, name: 'Ours', exercises: [{ ...first, leadInSeconds: 240 }] };
    await expect(procedures.series.save({ series: faulty, newest: 0 }, window)).rejects.toThrow(
      refused('configuration-invalid'),
    );
    const ours = { ...template.series, name: 'Ours', exercises: [{ ...first, restSeconds: 55 }] };
    expect(await procedures.series.save({ series: ours, newest: 0 }, window)).toEqual({ version: 1 });
    const split = { ...ours, exercises: ours.exercises.map((one) => ({ ...one, dwellsPerProbe: 6 })) };
    expect(await procedures.series.save({ series: split, newest: 1 }, window)).toEqual({ version: 2 });
    // Another window was opened on version 1 and has not seen the second.
    const other = { ...ours, source: 'Theirs.', version: 2 };
    await expect(procedures.series.save({ series: other, newest: 1 }, window)).rejects.toMatchObject({
      code: 'action-refused',
      what: 'The laboratory has version 2 of it by now, and this was begun on version 1',
    });
    const kept = (await procedures.series.list({}, window)).filter(({ mark }) => mark === null);
    expect(kept.find(({ series }) => series.name === 'Ours')?.series).toEqual({ ...split, version: 2 });

    const plan = { ...driver.plan(file), series: { name: 'Ours', version: 2 } };
    const preview = await procedures.trial.preview(plan, window);
    expect(preview.exercises.map(({ restSeconds }) => restSeconds)).toEqual([55]);
    expect(preview.exercises[0]?.dwells).toHaveLength(12);
    const { trial } = await procedures.trial.prepare(plan, window);
    const again = { ...ours, version: 3 };
    expect(await procedures.series.save({ series: again, newest: 2 }, window)).toEqual({ version: 3 });
    await driver.command('close');
    // Nothing was measured: there is a sealed record and no result.
    await driver.until('the end', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 20);
    expect(readTrial(join(folder.path, file), trial).series).toEqual({ ...split, version: 2 });
  });
});
