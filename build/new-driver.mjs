/**
 * Begins a driver: `npm run new-driver -- NAME --kind KIND [--into FOLDER]` writes the five files of a dialect under
 * FOLDER/KIND/NAME/, FOLDER being `drivers` when no other is given. They keep to the contract as they are; the guide is
 * docs/guides/drivers.md.
 */
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';

const root = join(import.meta.dirname, '..');
const templates = join(import.meta.dirname, 'driver-template');

/**
 * What the template reads for each kind: one stream, and a line of it with its check sum.
 * @type {Readonly<Record<string, { stream: string, unit: string, resolution: number, low: number | null,
 *   high: number | null, example: string }>>}
 */
const kinds = {
  photometer: of('concentration', 'mg/m3', 0.0001, null, null, 'value 12.5000 *43'),
  'heart-rate': of('heart-rate', 'per-minute', 1, 25, 240, 'value 72 *6E'),
  breathing: of('flow', 'L/min', 0.1, -600, 600, 'value 12.5 *73'),
  climate: of('temperature', 'degC', 0.1, -20, 60, 'value 21.5 *73'),
  'pressure-flow': of('ensemble-pressure', 'Pa', 0.1, null, null, 'value 12.5 *73'),
};

/** Kinds whose instruments are told something: what they are told has to be written by whoever knows them. */
const toldKinds = {
  'selector-valve': 'drivers/selector-valve/command-lines',
  contact: 'drivers/contact/lines',
  ergometer: 'drivers/ergometer/lines',
  treadmill: 'drivers/treadmill/lines',
};

/**
 * @param {string} stream
 * @param {string} unit
 * @param {number} resolution
 * @param {number | null} low
 * @param {number | null} high
 * @param {string} example
 */
function of(stream, unit, resolution, low, high, example) {
  return { stream, unit, resolution, low, high, example };
}

/**
 * @param {string} what
 * @returns {never}
 */
function refuse(what) {
  console.error(`new-driver: ${what}`);
  process.exit(2);
}

const words = process.argv.slice(2);
/** @param {string} option */
const valueOf = (option) => {
  const at = words.indexOf(option);
  if (at < 0) return undefined;
  const [, value] = words.splice(at, 2);
  return value ?? refuse(`${option} lacks its value`);
};
const kind = valueOf('--kind');
const into = resolve(root, valueOf('--into') ?? 'drivers');
const [name, ...stray] = words;
const usage = 'npm run new-driver -- NAME --kind KIND';
if (name === undefined || kind === undefined || stray.length > 0) refuse(`usage: ${usage}`);
if (!/^[a-z][a-z0-9]*(-[a-z0-9]+)*$/.test(name)) {
  refuse(`${name} is no name of a dialect: small letters, digits and hyphens, beginning with a letter`);
}
const [, model] = Object.entries(toldKinds).find(([told]) => told === kind) ?? [];
if (model !== undefined) {
  refuse(`a ${kind} is told something, which no template can know: begin with a copy of ${model}`);
}
const found = Object.entries(kinds).find(([known]) => known === kind)?.[1];
if (found === undefined) refuse(`there is no kind ${kind}: one of ${Object.keys(kinds).join(', ')}`);
const folder = join(into, kind, name);
if (existsSync(folder)) refuse(`${folder} is there already`);

const parts = `${kind}-${name}`.split('-');
const pascal = parts.map((part) => part.charAt(0).toUpperCase() + part.slice(1)).join('');
const camel = pascal.charAt(0).toLowerCase() + pascal.slice(1);
const { example, high, low, resolution, stream, unit } = found;
/** @type {Readonly<Record<string, string>>} */
const values = {
  ...{ camel, example, kind, name, stream, unit, Pascal: pascal },
  title: `${kind} that speaks ${name}`,
  line: `value {${stream}} *{checksum}`,
  quantity:
    `{ stream: '${stream}', unit: '${unit}', resolution: ${resolution}, ` +
    `plausibleLow: ${low}, plausibleHigh: ${high} }`,
};
mkdirSync(folder, { recursive: true });
for (const template of readdirSync(templates)) {
  const text = readFileSync(join(templates, template), 'utf8');
  const filled = text.replaceAll(/@[A-Za-z]+@/g, (mark) => {
    const key = mark.slice(1, -1);
    return values[key] ?? refuse(`${template}: ${key}?`);
  });
  writeFileSync(join(folder, template.replace(/\.txt$/, '')), filled);
}
console.log(`Written: the five files of ${relative(root, folder)}. It reads lines such as "${example}".

Now, in this order (docs/guides/drivers.md):
1. drivers/registry.ts
     import { ${camel} } from './${kind}/${name}/manifest.ts';
   and ${camel}, among drivers.
2. tests/contract/drivers/specimens.ts: '${kind} ${name}', with lines written out by hand.
3. docs/drivers/README.md: a row for it.
4. Change codec.ts and README.md to what your instrument says, and run
     npx vitest run -c build/vitest.config.ts tests/contract/drivers`);
