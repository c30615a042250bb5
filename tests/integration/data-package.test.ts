import { createHash } from 'node:crypto';
import { cpSync, existsSync, mkdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Ajv from 'ajv';
import draft4 from 'ajv/lib/refs/json-schema-draft-04.json' with { type: 'json' };
import { parse } from 'csv-parse/sync';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readPackage } from '../../src/host/data-package/read-package.ts';
import { readStudyOverview, readTrial, readWire } from '../../src/host/store/read.ts';
import { isChambersideError } from '../../src/model/error-code.ts';
import { chamberside, chambersideJson, temporaryFolder } from '../support/command-line.ts';

const folder = temporaryFolder();
const study = join(folder.path, 'recorded.chamberside');
const whole = join(folder.path, 'package');
let trial = '';

interface Descriptor {
  resources: { path: string; bytes: number; hash: string; schema: { fields: { name: string; unit?: string }[] } }[];
}

beforeAll(async () => {
  const rehearsed = await chambersideJson<{ trialId: string }>(
    ...['rehearse', '--scenario', 'short', '--seed', '11', '--speed', '500', '--study', study],
  );
  trial = rehearsed.trialId;
  await chambersideJson('export', '--study', study, '--out', whole);
}, 120_000);
afterAll(() => folder.clear());

function descriptorIn(place: string): Descriptor {
  return JSON.parse(readFileSync(join(place, 'datapackage.json'), 'utf8')) as Descriptor;
}

function rowsOf(path: string): Record<string, string>[] {
  return parse(readFileSync(join(whole, path), 'utf8'), { columns: true, record_delimiter: '\r\n' });
}

describe('an exported trial', () => {
  it('is a Tabular Data Package by the published schema of the standard', () => {
    // Data Package standard, version 1: fixtures/standards/README.md.
    const place_ = join(import.meta.dirname, '../../fixtures/standards/tabular-data-package.json');
    const schema = JSON.parse(readFileSync(place_, 'utf8')) as object;
    const ajv = new Ajv({ schemaId: 'auto', meta: false, logger: false, unknownFormats: 'ignore' });
    ajv.addMetaSchema(draft4);
    const descriptor = descriptorIn(whole);
    expect(ajv.validate(schema, descriptor), JSON.stringify(ajv.errors)).toBe(true);
    // And the schema refuses what is none.
    const [first] = descriptor.resources;
    expect(ajv.validate(schema, { ...descriptor, resources: [{ ...first, schema: undefined }] })).toBe(false);
    expect(ajv.validate(schema, { ...descriptor, profile: 'data-package' })).toBe(false);
  });

  it('has every file with its size, its digest, its columns and a unit where there is one', () => {
    const { resources } = descriptorIn(whole);
    expect(resources.length).toBeGreaterThan(6);
    for (const { path, bytes, hash, schema } of resources) {
      const content = readFileSync(join(whole, path));
      expect([path, content.length]).toEqual([path, bytes]);
      expect(hash).toBe(`sha256:${createHash('sha256').update(content).digest('hex')}`);
      expect(content.toString('utf8').split('\r\n')[0]).toBe(schema.fields.map(({ name }) => name).join(','));
    }
    const readings = resources.find(({ path }) => path.endsWith('readings-photometer-concentration.csv'));
    expect(readings?.schema.fields.map(({ unit }) => unit)).toEqual(['us', 'mg/m3']);
  });

  it('holds every reading to the bit, every byte, every event and every cell', () => {
    const record = readTrial(study, trial);
    for (const { descriptor, atMicroseconds, values } of record.streams) {
      const rows = rowsOf(`${trial}/readings-${descriptor.instrument}-${descriptor.stream}.csv`);
      expect(rows.map((row) => Number(row['time_us']))).toEqual([...atMicroseconds]);
      expect(rows.map((row) => Number(row['value']))).toEqual([...values]);
    }
    const wire = rowsOf(`${trial}/wire.csv`).map((row) => `${row['time_us']} ${row['direction']} ${row['bytes']}`);
    const stored = readWire(study, trial);
    expect(wire).toEqual(
      stored.map((one) => `${one.atMicroseconds} ${one.direction} ${Buffer.from(one.bytes).toString('hex')}`),
    );
    const events = rowsOf(`${trial}/events.csv`).map((row) => JSON.parse(row['json'] ?? '') as unknown);
    expect(events).toEqual(record.events);
    const { assessments } = readStudyOverview(study);
    const cells = rowsOf('cells.csv').map((row) => [row['exercise'], row['probe'], Number(row['window_percent'])]);
    expect(cells).toEqual(
      assessments.at(-1)?.cells.map((cell) => [cell.exercise, cell.probe, cell.windowPercent ?? 0]),
    );
  });

  it('is written whole or not at all, and over nothing', async () => {
    const before = readFileSync(join(whole, 'datapackage.json'));
    const again = await chamberside('export', '--study', study, '--out', whole);
    expect([again.status, again.stderr]).toEqual([1, expect.stringContaining('The folder holds something already')]);
    expect(readFileSync(join(whole, 'datapackage.json'))).toEqual(before);
    const nowhere = join(folder.path, 'a-file');
    writeFileSync(nowhere, '');
    const inFile = await chamberside('export', '--study', study, '--out', join(nowhere, 'below'));
    expect(inFile.status).not.toBe(0);
    expect(existsSync(`${join(nowhere, 'below')}.part`)).toBe(false);
    const none = await chamberside('export', '--study', study, '--trial', 't-000000000000', '--out', `${whole}2`);
    expect([none.status, existsSync(`${whole}2`)]).toEqual([1, false]);
    expect(none.stderr).toContain(trial);
    const long = await chamberside('export', '--study', study, '--out', `${whole}${'a'.repeat(300)}`);
    expect([long.status, long.stderr]).toEqual([2, expect.stringMatching(/^usage-bad-value: .* too long/)]);
  });
});

describe('a package that is taken in', () => {
  const other = join(folder.path, 'taken-in.chamberside');

  it('is assessed to the same bits, verifies, and says where it was recorded', async () => {
    await chambersideJson('import', '--package', whole, '--study', other);
    const verified = await chambersideJson<{ intact: boolean }>('verify', '--study', other);
    expect(verified.intact).toBe(true);
    const assess = async (file: string): Promise<unknown> => {
      const { stdout } = await chamberside('assess', '--study', file, '--dry', '--json');
      const { cells, probes, exercises, overall, flags, method } = JSON.parse(stdout) as Record<string, unknown>;
      return { cells, probes, exercises, overall, flags, method };
    };
    expect(await assess(other)).toEqual(await assess(study));
    const [one, two] = [readTrial(study, trial), readTrial(other, trial)];
    expect(two.streams).toEqual(one.streams);
    expect(two.events).toEqual(one.events);
    const order = (path: string): string[] =>
      readWire(path, trial).map(
        ({ instrument, direction, atMicroseconds, bytes }) =>
          `${instrument} ${direction} ${atMicroseconds} ${bytes.join()}`,
      );
    expect(order(other)).toEqual(order(study));
    const [summary] = readStudyOverview(study).trials;
    expect(two.header).toEqual({
      ...one.header,
      study: readStudyOverview(other).study.study,
      imported: { study: one.header.study, head: summary?.sealed?.head, at: expect.any(String) as unknown },
    });
    // What goes over the wire gives the same readings here as there.
    const { status } = await chamberside('replay', '--study', other, '--json');
    expect(status).toBe(0);
  });

  it('is refused where it is already, and nothing is changed', async () => {
    const before = readStudyOverview(other);
    const again = await chamberside('import', '--package', whole, '--study', other);
    expect([again.status, again.stderr]).toEqual([1, expect.stringContaining('The study holds this trial already')]);
    expect(readStudyOverview(other)).toEqual(before);
  });
});

/** A file of the package changed, and its size and digest put right: what is found then is the fault itself. */
function withChanged(path: string, change: (text: string) => string, sealAgain = true): string {
  const copy = join(folder.path, `copy-${copies}`);
  copies += 1;
  cpSync(whole, copy, { recursive: true });
  const place = join(copy, path);
  const content = Buffer.from(change(readFileSync(place, 'utf8')), 'utf8');
  writeFileSync(place, content);
  if (!sealAgain || path === 'datapackage.json') return copy;
  const descriptor = descriptorIn(copy);
  for (const resource of descriptor.resources) {
    if (resource.path !== path) continue;
    resource.bytes = content.length;
    resource.hash = `sha256:${createHash('sha256').update(content).digest('hex')}`;
  }
  writeFileSync(join(copy, 'datapackage.json'), JSON.stringify(descriptor));
  return copy;
}
let copies = 0;

/** One value of one row, from 1, replaced. */
function place(line: number, column: number, value: string): (text: string) => string {
  return (text) => {
    const rows = parse(text, { record_delimiter: '\r\n' });
    const row = rows[line - 1];
    if (row === undefined) throw new Error(`there is no line ${line}`);
    row[column] = value;
    return rows.map((each) => each.map((one) => `"${one.replaceAll('"', '""')}"`).join(',')).join('\r\n');
  };
}

/** JSON of one part of the configuration changed. */
function part(name: string, change: (content: Record<string, unknown>) => void): (text: string) => string {
  return (text) => {
    const rows = parse(text, { record_delimiter: '\r\n' });
    for (const row of rows) {
      if (row[1] !== name) continue;
      const content = JSON.parse(row[2] ?? '') as Record<string, unknown>;
      change(content);
      row[2] = JSON.stringify(content);
    }
    return rows.map((each) => each.map((one) => `"${one.replaceAll('"', '""')}"`).join(',')).join('\r\n');
  };
}

type Wrong = readonly [what: string, path: string, change: (text: string) => string, where: RegExp];
const c = 'configuration.csv';
const d = 'datapackage.json';
const inTrial = (name: string): string => `<trial>/${name}`;
const readings = inTrial('readings-photometer-concentration.csv');

const wrong: readonly Wrong[] = [
  ['a descriptor that is cut', d, (text) => text.slice(0, 900), /datapackage\.json/],
  ['a descriptor that is a list', d, () => '[]', /datapackage\.json/],
  ['a descriptor without resources', d, () => '{"resources":[]}', /datapackage\.json, resources/],
  ['a package of another program', d, (text) => text.replace('"chamberside"', '"another"'), /chamberside/],
  ['a package of a later format', d, (text) => text.replace('"format": 1', '"format": 2'), /format/],
  ['a path that leads out', d, (text) => text.replace('"trials.csv"', '"../trials.csv"'), /resources\.0\.path/],
  ['a path from the root', d, (text) => text.replace('"trials.csv"', '"/etc/hosts.csv"'), /resources\.0\.path/],
  ['a size that is none', d, (text) => text.replace(/"bytes": \d+/, '"bytes": -1'), /resources\.0\.bytes/],
  ['a digest that is none', d, (text) => text.replace(/sha256:[0-9a-f]+/, 'md5:00'), /resources\.0\.hash/],
  ['a file that is not listed', d, (text) => text.replace(/[^"]*wire\.csv/, 'x/wire.csv'), /wire\.csv/],
  ['no rows and no header', 'trials.csv', () => '', /trials\.csv/],
  ['other columns', 'trials.csv', (text) => text.replace('subject', 'name'), /trials\.csv line 1/],
  ['a column too few', 'trials.csv', (text) => text.replace(',intact', ''), /trials\.csv line/],
  ['a row that is too short', 'trials.csv', (text) => `${text}t-000000000001,S01\r\n`, /trials\.csv line 3/],
  ['a quote without its end', 'trials.csv', (text) => `${text}"t-00`, /trials\.csv line/],
  ['a trial that is none', 'trials.csv', place(2, 0, 'trial-1'), /line 2, column trial/],
  ['a trial with a path in it', 'trials.csv', place(2, 0, '../../etc'), /line 2, column trial/],
  ['a trial of which nothing is there', 'trials.csv', place(2, 0, 't-000000000000'), /configuration\.csv/],
  ['a trial twice', 'trials.csv', (text) => text + (text.split('\r\n')[1] ?? ''), /line 3, column trial/],
  ['a trial that was altered', 'trials.csv', place(2, 8, 'false'), /trials\.csv line 2/],
  ['a trial of which that is not said', 'trials.csv', place(2, 8, ''), /trials\.csv line 2/],
  ['a virtual trial that is called real', 'trials.csv', place(2, 4, 'false'), /line 2, column virtual/],
  ['a part that is missing', c, (text) => text.replace(',rig,', ',wig,'), /configuration\.csv/],
  ['a part that is there twice', c, (text) => text.replace(',series,', ',rig,'), /configuration\.csv/],
  ['a part that is no JSON', c, place(2, 2, '{'), /line 2, column json/],
  ['a part that is empty', c, place(3, 2, ''), /line 3, column json/],
  ['a header of another trial', c, part('header', (it) => void (it['trial'] = 't-000000000000')), /configuration/],
  ['a header without a subject', c, part('header', (it) => void delete it['subject']), /line 2, column json/],
  ['a header whose study is a path', c, part('header', (it) => void (it['study'] = '/tmp')), /line 2, column json/],
  ['a rig without ports', c, part('rig', (it) => void (it['ports'] = [])), /line 3, column json/],
  ['a rig whose time constant is text', c, part('rig', (it) => void (it['timeConstantSeconds'] = 'one')), /line 3/],
  ['a series without exercises', c, part('series', (it) => void (it['exercises'] = [])), /line 4, column json/],
  ['a method of no version', c, part('method', (it) => void (it['version'] = 0)), /line 5, column json/],
  ['streams that are no list', c, place(6, 2, '{}'), /line 6, column json/],
  ['a stream of no unit', c, place(6, 2, '[{"instrument":"a","stream":"b","unit":"kJ"}]'), /line 6, column json/],
  ['instruments that are no list', c, place(7, 2, 'null'), /line 7, column json/],
  ['no segment of time', c, place(8, 2, '[]'), /line 8, column json/],
  ['a value that is text', readings, place(5, 1, 'high'), /line 5, column value/],
  ['a value with a comma', readings, place(5, 1, '0,5'), /line 5, column value/],
  ['a value that is not there', readings, place(5, 1, ''), /line 5, column value/],
  ['a value without end', readings, place(5, 1, 'Infinity'), /line 5, column value/],
  ['a value that is none', readings, place(5, 1, 'NaN'), /line 5, column value/],
  ['a value beyond every number', readings, place(5, 1, '1e999'), /line 5, column value/],
  ['a time before the trial', readings, place(5, 0, '-5'), /line 5, column time_us/],
  ['a time in parts of a microsecond', readings, place(5, 0, '5.5'), /line 5, column time_us/],
  ['a time of years', readings, place(5, 0, '999999999999999'), /line 5, column time_us/],
  ['an event that is none', inTrial('events.csv'), place(4, 2, '{"kind":"party"}'), /line 4, column json/],
  ['an event of another kind', inTrial('events.csv'), place(4, 1, 'cue-given'), /line 4, column kind/],
  ['an event at another time', inTrial('events.csv'), place(4, 0, '77'), /line 4, column time_us/],
  ['events of no beginning', inTrial('events.csv'), (text) => text.replace(/\r\n[^\n]*\n/, '\r\n'), /events/],
  ['bytes that are none', inTrial('wire.csv'), place(3, 3, '0g'), /line 3, column bytes/],
  ['half a byte', inTrial('wire.csv'), place(3, 3, '0a0'), /line 3, column bytes/],
  ['bytes of no instrument', inTrial('wire.csv'), place(3, 1, 'oven'), /line 3, column instrument/],
  ['bytes that go round', inTrial('wire.csv'), place(3, 2, 'round'), /line 3, column direction/],
];

describe('a package in which something is wrong', () => {
  it('is tried in at least fifty ways', () => {
    expect(wrong.length).toBeGreaterThanOrEqual(50);
  });

  it.each(wrong)('%s is refused with where it stands', (_, path, change, where) => {
    const copy = withChanged(path.replace('<trial>', trial), change);
    let refused: unknown = null;
    try {
      readPackage(copy);
    } catch (error) {
      refused = error;
    }
    rmSync(copy, { recursive: true });
    if (!isChambersideError(refused, 'import-invalid')) throw new Error(`not refused: ${String(refused)}`);
    expect(refused.where).toMatch(where);
    expect(refused.what.length).toBeGreaterThan(8);
    expect(refused.remedy).toMatch(/\.$/);
  });

  it.each(['trials.csv', 'configuration.csv', readings])('%s of another digest is refused', (path) => {
    const other = (text: string): string => text.replace(/0/, '1');
    const copy = withChanged(path.replace('<trial>', trial), other, false);
    expect(() => readPackage(copy)).toThrow(/its digest differs|bytes; the package says/);
  });

  it('is no file behind a link, and no folder in place of one', () => {
    const copy = withChanged('trials.csv', (text) => text);
    const place_ = join(copy, 'cells.csv');
    rmSync(place_);
    symlinkSync('/etc/hostname', place_);
    expect(() => readPackage(copy)).not.toThrow();
    const trials = join(copy, 'trials.csv');
    rmSync(trials);
    symlinkSync(join(whole, 'trials.csv'), trials);
    expect(() => readPackage(copy)).toThrow(/no plain file/);
    rmSync(trials);
    mkdirSync(trials);
    expect(() => readPackage(copy)).toThrow(/no plain file/);
  });

  it('leaves the study as it is, and makes none', async () => {
    const copy = withChanged(c, place(3, 2, ''));
    const target = join(folder.path, 'never.chamberside');
    const outcome = await chamberside('import', '--package', copy, '--study', target);
    expect([outcome.status, existsSync(target)]).toEqual([1, false]);
    expect(outcome.stderr).toMatch(/configuration\.csv line 3, column json/);
    const before = readFileSync(study);
    await chamberside('import', '--package', copy, '--study', study);
    expect(readFileSync(study)).toEqual(before);
  });
});
