import { parseArgs } from 'node:util';
import { faults } from './faults.ts';
import { rowOrReason, tableOf, type FaultRow } from './row.ts';

/** Entry of the fault matrix; `build/faults.mjs` starts it. Exit status: 0 good, 1 broken, 2 wrong usage. */
const usage = `usage: npm run faults -- [--only NAME]… [--times N] [--json]

Lets go wrong what can go wrong, one thing at a time, and says of each how often it was tried and survived, how many
seconds of readings it cost besides its own, and how soon somebody was told. What was survived is read back from the
file, from the alarms, from what windows are shown and from the report.

  --only NAME  only faults whose names begin so; may be given several times
  --times N    how often each, from 1; default 1
  --list       only name the faults
  --json       print the rows as JSON instead of a table`;

function parsed(words: readonly string[]) {
  const { values } = parseArgs({
    args: [...words],
    options: {
      only: { type: 'string', multiple: true, default: [] },
      times: { type: 'string', default: '1' },
      list: { type: 'boolean', default: false },
      json: { type: 'boolean', default: false },
      help: { type: 'boolean', default: false },
    },
  });
  const times = Number(values.times);
  if (values.times === '' || !Number.isSafeInteger(times) || times < 1) {
    throw new Error(`--times takes a whole number from 1, not '${values.times}'.`);
  }
  const wanted = faults().filter(
    ({ fault }) => values.only.length === 0 || values.only.some((name) => fault.startsWith(name)),
  );
  if (wanted.length === 0) {
    const names = faults().map(({ fault }) => fault);
    throw new Error(`No fault begins with ${values.only.join(' or ')}; there are: ${names.join(', ')}.`);
  }
  return { ...values, times, wanted };
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
  if (options.list) {
    for (const { fault, says } of options.wanted) console.log(`${fault}: ${says}`);
    return 0;
  }
  const rows: FaultRow[] = [];
  for (const fault of options.wanted) {
    const row = await rowOrReason(fault, options.times);
    rows.push(row);
    say(`${row.fault}: ${row.survived} of ${row.tried}, ${row.verdict}`);
  }
  console.log(options.json ? JSON.stringify(rows) : tableOf(rows));
  return rows.some(({ verdict }) => verdict === 'broken') ? 1 : 0;
}

process.exitCode = await main(process.argv.slice(2));
