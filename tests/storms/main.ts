import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import type { StormVerdict } from './judge-storm.ts';
import { runStorm } from './run-storm.ts';
import { summed } from './summed.ts';

/** Entry of the storms; `build/storms.mjs` bundles and starts it. Exit status: 0 good, 1 broken, 2 wrong usage. */
const usage = `usage: npm run storms -- [--count N] [--seed S] [--json]

Runs whole trials in this process on a virtual clock, each with faults of every kind at random moments and with a disk
that refuses and is slow, and looks at what is left of them. A storm is repeated by its seed: --count 1 --seed S.

  --count N  how many, from 1; default 20
  --seed S   seed of the first, the others follow; default 1
  --json     print the verdicts and their sum as JSON instead of lines

What is broken stays in a folder that is named at the end.`;

function wholeNumber(option: string, text: string, least: number): number {
  const value = Number(text);
  if (text === '' || !Number.isSafeInteger(value) || value < least) {
    throw new Error(`--${option} takes a whole number from ${least}, not '${text}'.`);
  }
  return value;
}

function parsed(words: readonly string[]) {
  const { values } = parseArgs({
    args: [...words],
    options: {
      count: { type: 'string', default: '20' },
      seed: { type: 'string', default: '1' },
      json: { type: 'boolean', default: false },
      help: { type: 'boolean', default: false },
    },
  });
  return {
    count: wholeNumber('count', values.count, 1),
    seed: wholeNumber('seed', values.seed, 0),
    json: values.json,
    help: values.help,
  };
}

const say = (text: string): void => void process.stderr.write(`${text}\n`);

async function main(words: readonly string[]): Promise<number> {
  let options: ReturnType<typeof parsed>;
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
  const folder = mkdtempSync(join(tmpdir(), 'storms-'));
  const verdicts: StormVerdict[] = [];
  for (let index = 0; index < options.count; index += 1) {
    const verdict = await runStorm(options.seed + index, folder);
    verdicts.push(verdict);
    for (const broken of verdict.broken) say(`storm ${verdict.seed}: ${broken}`);
    if ((index + 1) % 100 === 0) say(`${index + 1} of ${options.count}`);
  }
  const sum = summed(verdicts);
  if (options.json) console.log(JSON.stringify({ sum, verdicts }));
  else for (const [name, value] of Object.entries(sum)) console.log(`${name}: ${value}`);
  if (sum.broken === 0) rmSync(folder, { recursive: true });
  else say(`Files of what is broken: ${folder}`);
  return sum.broken === 0 ? 0 : 1;
}

process.exitCode = await main(process.argv.slice(2));
