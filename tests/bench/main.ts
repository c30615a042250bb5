import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { compareRuns, comparisonTable, mostGrowth } from './compare.ts';
import { measure } from './measure.ts';
import { parseRun, runTable, runText, type Row } from './row.ts';
import type { Size, Stage } from './stage.ts';
import { stages } from './stages.ts';

/**
 * Entry of the bench; `build/bench.mjs` bundles and starts it. Exit status: 0 good, 1 a stage could not be measured
 * or is worse than it was, 2 wrong usage.
 */
const usage = `usage: npm run bench -- [--json] [--stage NAME]… [--tiny] [--out FILE]
       npm run bench:compare -- [STORED] [--with FILE] [--stage NAME]… [--tiny]

Measures stages of the program, each side by side with the least that its work can cost, in turns.

  --json        print the rows as JSON instead of a table
  --stage NAME  only this stage; may be given several times: ${stages.map(({ name }) => name).join(', ')}
  --tiny        so little that the numbers mean nothing: shows that every stage runs
  --out FILE    keep the run in a file, as JSON
  STORED        a run that was kept, default fixtures/bench/stored-run.json
  --with FILE   hold this run against it instead of measuring now

bench:compare ends with 1 when a ratio has grown by more than a third.`;

/** Measurements of a stage that looks worse than it was: the machine may have been busy. */
const mostTries = 3;

/** @throws Error for what the command line cannot mean. */
function parsed(words: readonly string[]) {
  const [first, ...rest] = words;
  const compares = first === 'compare';
  const { values, positionals } = parseArgs({
    args: compares ? rest : [...words],
    allowPositionals: compares,
    options: {
      json: { type: 'boolean', default: false },
      stage: { type: 'string', multiple: true, default: [] },
      tiny: { type: 'boolean', default: false },
      out: { type: 'string' },
      with: { type: 'string' },
      help: { type: 'boolean', default: false },
    },
  });
  if (positionals.length > 1) throw new Error(`One stored run, not ${positionals.length}: ${positionals.join(', ')}.`);
  if (values.with !== undefined && !compares) throw new Error('--with belongs to bench:compare.');
  if (compares && (values.json || values.out !== undefined)) throw new Error('--json and --out belong to bench.');
  const unknown = values.stage.find((name) => !stages.some((stage) => stage.name === name));
  if (unknown !== undefined) {
    throw new Error(`There is no stage '${unknown}'; there are ${stages.map(({ name }) => name).join(', ')}.`);
  }
  const size: Size = values.tiny ? 'tiny' : 'full';
  const wanted = stages.filter(({ name }) => values.stage.length === 0 || values.stage.includes(name));
  return { ...values, compares, size, wanted, stored: positionals[0] ?? storedRun };
}

const here = import.meta.dirname;
const storedRun = join(here, '../../../fixtures/bench/stored-run.json');

/** What stages write lies beside the bundle: on a disk, which a folder for temporary files need not be. */
const workFolder = join(here, 'bench-work');

const say = (text: string): void => void process.stderr.write(`${text}\n`);

async function run(size: Size, wanted: readonly Stage[]): Promise<Row[]> {
  const rows: Row[] = [];
  for (const stage of wanted) {
    say(`${stage.name} …`);
    rows.push(await measure(stage, size, workFolder));
  }
  return rows;
}

function readRun(path: string): Row[] {
  try {
    return parseRun(readFileSync(path, 'utf8'), path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    throw new Error(`There is no ${path}. Make a run with npm run bench -- --out FILE.`, { cause: error });
  }
}

type Options = ReturnType<typeof parsed>;

async function bench(options: Options): Promise<number> {
  const rows = await run(options.size, options.wanted);
  if (options.out !== undefined) writeFileSync(options.out, `${runText(rows)}\n`);
  console.log(options.json ? runText(rows) : runTable(rows));
  return 0;
}

async function compare(options: Options): Promise<number> {
  const names = options.wanted.map(({ name }) => name);
  const stored = readRun(options.stored).filter(({ stage }) => names.includes(stage));
  if (stored.length === 0) throw new Error(`${options.stored} holds none of these stages: ${names.join(', ')}.`);
  let current = options.with === undefined ? await run(options.size, options.wanted) : readRun(options.with);
  let comparisons = compareRuns(stored, current);
  for (let tried = 1; options.with === undefined && tried < mostTries; tried += 1) {
    const doubtful = options.wanted.filter(({ name }) => comparisons.some((one) => one.stage === name && one.worse));
    if (doubtful.length === 0) break;
    say(`Worse than stored, measured again: ${doubtful.map(({ name }) => name).join(', ')}`);
    const again = await run(options.size, doubtful);
    current = current.map((row) => again.find(({ stage, ratio }) => stage === row.stage && ratio < row.ratio) ?? row);
    comparisons = compareRuns(stored, current);
  }
  console.log(comparisonTable(comparisons));
  const fresh = current.filter(({ stage }) => names.includes(stage) && !stored.some((row) => row.stage === stage));
  if (fresh.length > 0) console.log(`Not stored yet: ${fresh.map(({ stage }) => stage).join(', ')}.`);
  const worse = comparisons.filter((one) => one.worse);
  if (worse.length === 0) return 0;
  const which = worse.map(({ stage }) => stage).join(', ');
  console.log(`Worse by more than × ${mostGrowth.toFixed(2)}, or not measured: ${which}.`);
  return 1;
}

async function main(words: readonly string[]): Promise<number> {
  let options: Options;
  try {
    options = parsed(words);
  } catch (error) {
    say(`${(error as Error).message}\n\n${usage}`);
    return 2;
  }
  if (options.help) {
    console.log(usage);
    return 0;
  }
  try {
    return await (options.compares ? compare(options) : bench(options));
  } catch (error) {
    say(error instanceof Error ? error.message : String(error));
    return 1;
  }
}

process.exitCode = await main(process.argv.slice(2));
