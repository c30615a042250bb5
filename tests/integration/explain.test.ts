import { copyFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { formatExplanation } from '../../src/host/cli/explain-text.ts';
import { readScatter } from '../../src/host/compute/scatter-job.ts';
import { assessWithWorkings } from '../../src/leakage/assess.ts';
import { explainFrom } from '../../src/leakage/explain.ts';
import { usableOptions } from '../../src/leakage/method-for-rig.ts';
import { compileSchedule } from '../../src/series/compile.ts';
import { predictUsableSeconds } from '../../src/series/usable.ts';
import { predictProbes } from '../../src/study/predict-series.ts';
import { readPlannedMethod, readTrial } from '../../src/host/store/read.ts';
import { digestOfFile } from '../support/digest-of-file.ts';
import { chamberside, chambersideJson, temporaryFolder } from '../support/command-line.ts';
import { valueFromJson, valueFromText, type ExplainedJson } from '../support/explain-calculator.ts';
import { rehearse, type PrintedRehearsal } from '../support/rehearsal.ts';
import { alter } from '../support/store/altered-study.ts';

const folder = temporaryFolder();
const study = folder.file('explained.chamberside');
let rehearsal: PrintedRehearsal;
beforeAll(async () => {
  rehearsal = await rehearse(study, '--seed', '11', '--speed', '500');
});
afterAll(folder.clear);

interface Printed {
  readonly stored: { readonly agrees: boolean } | null;
  readonly explanation: ExplainedJson & { readonly windowPercent: number; readonly detectionLimitPercent: number };
}

describe('explain', () => {
  it('gives every value of a rehearsed trial again, from what it prints', () => {
    const record = readTrial(study, rehearsal.trialId);
    const method = readPlannedMethod(study, rehearsal.trialId);
    const workings = assessWithWorkings(record, method);
    expect(rehearsal.cells).toHaveLength(50);
    for (const cell of rehearsal.cells) {
      const explanation = explainFrom(record, method, workings, cell);
      const page = valueFromText(formatExplanation(explanation, false));
      if (page === null || cell.windowPercent === null) throw new Error(`${cell.exercise}, ${cell.probe}: no value`);
      expect(Math.abs(page.printed - cell.windowPercent)).toBeLessThanOrEqual(0.5001 * page.lastFigure);
      expect(Math.abs(page.rebuilt - page.printed)).toBeLessThanOrEqual(0.55 * page.lastFigure);
      const fromReadings = valueFromJson(JSON.parse(JSON.stringify(explanation)) as ExplainedJson);
      expect(fromReadings?.percent).toBeCloseTo(cell.windowPercent, 10);
      expect(fromReadings?.limit).toBeCloseTo(cell.detectionLimitPercent ?? Number.NaN, 10);
    }
  });

  it('agrees with what the series promised by the scatter of this trial: limits within 6 %', () => {
    const record = readTrial(study, rehearsal.trialId);
    const { rig, series } = record;
    const { shown: scatter, unread } = readScatter(folder.path, rig);
    expect(unread).toEqual([]);
    expect(scatter).toMatchObject({ trial: rehearsal.trialId, rigVersion: rig.version });
    expect(scatter?.intervalSeconds).toBeCloseTo(0.05, 3);
    const method = readPlannedMethod(study, rehearsal.trialId);
    const schedule = compileSchedule(series, rig);
    const usable = predictUsableSeconds(schedule, rig, usableOptions(method));
    // Promised at the nominal challenge; it was another one.
    const { references } = assessWithWorkings(record, method).assessment;
    const level = references.reduce((sum, one) => sum + one.correctedReading, 0) / references.length;
    const challenge = level / rig.challenge.nominal;
    for (const { detectionLimitPercent, probe, slice } of predictProbes(schedule, usable, rig, method, scatter)) {
      const limits = rehearsal.cells.flatMap((cell) => (cell.probe === probe ? [cell.detectionLimitPercent ?? 0] : []));
      const mean = limits.reduce((sum, limit) => sum + limit, 0) / limits.length;
      expect(Math.abs((detectionLimitPercent ?? 0) / challenge / mean - 1)).toBeLessThan(0.06);
      // Windows are as long as they were: both bounds are what the trial itself shows.
      expect(slice?.highPercent).toBeCloseTo(100 * (scatter?.slice?.logStandard ?? 0), 0);
      expect(slice?.lowPercent).toBeCloseTo(slice?.highPercent ?? 0, 0);
    }
    // Of another photometer range or another room nothing is known.
    expect(readScatter(folder.path, { ...rig, name: 'Another' }).shown).toBeNull();
    expect(readScatter(folder.path, { ...rig, challenge: { ...rig.challenge, nominal: 99 } }).shown).toBeNull();
  });

  it('says the same on the command line, and touches nothing', async () => {
    const before = digestOfFile(study);
    const of = ['--study', study, '--exercise', 'crawl', '--probe', 'ankle'];
    const cell = rehearsal.cells.find(({ exercise, probe }) => exercise === 'crawl' && probe === 'ankle');
    const json = await chambersideJson<Printed>('explain', ...of);
    expect(json.stored?.agrees).toBe(true);
    expect(json.explanation.windowPercent).toBe(cell?.windowPercent);
    expect(valueFromJson(json.explanation)?.percent).toBeCloseTo(cell?.windowPercent ?? Number.NaN, 10);

    const text = await chamberside('explain', ...of, '--readings');
    expect(text.status).toBe(0);
    expect(text.stdout).toMatch(/^VIRTUAL RIG/);
    expect(text.stdout).toContain('has the same value and flags');
    const page = valueFromText(text.stdout);
    expect(Math.abs((page?.rebuilt ?? Number.NaN) - (page?.printed ?? 0))).toBeLessThanOrEqual(
      0.55 * (page?.lastFigure ?? 0),
    );
    expect(digestOfFile(study)).toBe(before);
  });

  it('is of nothing when the study is not what was recorded; so are a new result and the bytes', async () => {
    const altered = folder.file('altered.chamberside');
    copyFileSync(study, altered);
    alter(altered, (file) => file.exec(`UPDATE event SET json = replace(json, '"complete":true', '"complete":false')`));
    const before = digestOfFile(altered);
    const cell = ['--exercise', 'crawl', '--probe', 'hood'];
    for (const words of [['explain', ...cell], ['assess'], ['replay']]) {
      const [command = '', ...more] = words;
      const said = await chamberside(command, '--study', altered, ...more, '--json');
      expect(said.status, command).toBe(1);
      expect(said.stderr).toContain('THE TRIAL IS NOT WHAT WAS RECORDED');
      expect(JSON.parse(said.stdout)).toMatchObject({ intact: false });
    }
    expect(digestOfFile(altered)).toBe(before);
  });

  it('names what there is where a cell or an option is missing', async () => {
    const wrong = await chamberside('explain', '--study', study, '--exercise', 'crawl', '--probe', 'knee');
    expect(wrong).toMatchObject({ status: 1, stdout: '' });
    expect(wrong.stderr).toMatch(/cell-not-found: .*Probes: hood, chest, lower-back, thigh, ankle/);
    const lacking = await chamberside('explain', '--study', study, '--exercise', 'crawl');
    expect(lacking.status).toBe(2);
    expect(lacking.stderr).toContain('--probe is missing');
    const unknown = await chamberside(
      ...['explain', '--study', study, '--trial', 't-000000000000', '--exercise', 'crawl', '--probe', 'hood'],
    );
    expect(unknown.status).toBe(1);
    expect(unknown.stderr).toContain(rehearsal.trialId);
  });
});
