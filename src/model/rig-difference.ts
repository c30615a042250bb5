import { z } from 'zod';
import type { Rig, Stated } from './rig.ts';

/** One thing that differs between two versions of a rig. Texts are whole and carry their unit. */
export const rigChangeSchema = z.object({
  /** What it belongs to: `The rig as a whole`, `Port Ankle`. */
  part: z.string(),
  /** Which thing of it: `Transit`. */
  what: z.string(),
  /** Null: there was, or is, nothing of the kind. */
  before: z.string().nullable(),
  after: z.string().nullable(),
});
export type RigChange = z.infer<typeof rigChangeSchema>;

type Facts = Readonly<Record<string, unknown>>;

/** Members in words, and the unit that their values carry. What is not here is called by its own name. */
const members: Readonly<Record<string, readonly [words: string, unit?: string]>> = {
  name: ['Name'],
  virtual: ['Marked as virtual'],
  photometer: ['Photometer of the rig'],
  photometerStream: ['Stream with the concentration'],
  selectorValve: ['Selector valve of the rig'],
  heartRate: ['Belt of the rig'],
  timeConstantSeconds: ['Time constant', 's'],
  instrumentDelaySeconds: ['Delay inside the photometer', 's'],
  commonTransitSeconds: ['Transit from the valve to the photometer', 's'],
  commonDispersionSeconds: ['Dispersion of the common line', 's'],
  valveSwitchingSeconds: ['Time the valve needs to move', 's'],
  bypass: ['Bypass'],
  lineLitresPerMinute: ['Flow through a line', 'L/min'],
  spatialFactor: ['Spatial factor'],
  saturation: ['Saturation of the photometer'],
  'challenge agent': ['Challenge agent'],
  'challenge nominal': ['Nominal challenge'],
  'challenge exchangeSeconds': ['Air change time of the chamber', 's'],
  'guard load': ['Loads are guarded'],
  'guard valve': ['The valve is guarded'],
  probe: ['Name in results'],
  port: ['Number on the valve'],
  role: ['Role'],
  label: ['Label'],
  transitSeconds: ['Transit', 's'],
  dilution: ['Dilution'],
  penetration: ['Penetration'],
  lineMetres: ['Length of the line', 'm'],
  boreMillimetres: ['Inner diameter of the line', 'mm'],
  breathingZone: ['Lies in the breathing zone'],
  kind: ['Kind'],
  dialect: ['Speaks'],
  title: ['What the alarm says'],
  instrument: ['Of instrument'],
  stream: ['Of stream'],
  unit: ['Unit'],
  side: ['Alarm by a value'],
  limit: ['Limit'],
  holdSeconds: ['For how long', 's'],
  clearBy: ['Clears when it is back by'],
  priority: ['Priority'],
  action: ['What to do'],
  source: ['Set by, or taken from'],
};

/**
 * What differs between two versions of a rig, in words: the rig as a whole, then ports, instruments and watched limits
 * in the order of the later one. Parts are told apart by their names; of a port that has another name and the same
 * number it is the name that differs. Empty for equal contents; the number of the version is no difference.
 */
export function rigDifference(before: Rig, after: Rig): RigChange[] {
  const { instruments: fromInstruments, ports: fromPorts, watch: fromWatch = [], ...from } = before;
  const { instruments: toInstruments, ports: toPorts, watch: toWatch = [], ...to } = after;
  return [
    ...factsDiffer('The rig as a whole', without(from, 'version'), without(to, 'version')),
    ...partsDiffer('Port', pairedPorts(fromPorts, toPorts), ({ label, probe }) => (label === '' ? probe : label)),
    ...orderDiffers('ports', fromPorts.map(({ probe }) => probe), toPorts.map(({ probe }) => probe)),
    ...partsDiffer('Instrument', paired(fromInstruments, toInstruments, 'instrument'), ({ instrument }) => instrument),
    ...orderDiffers(
      'instruments',
      fromInstruments.map(({ instrument }) => instrument),
      toInstruments.map(({ instrument }) => instrument),
    ),
    ...partsDiffer('Watched limit', paired(fromWatch, toWatch, 'name'), ({ name }) => name),
    ...orderDiffers('watched limits', fromWatch.map(({ name }) => name), toWatch.map(({ name }) => name)),
  ];
}

interface Pair<Part> {
  readonly from: Part | null;
  readonly to: Part | null;
}

/** Parts of the same name, in the order of the later; what has gone comes last. */
function paired<Part extends object>(from: readonly Part[], to: readonly Part[], key: keyof Part): Pair<Part>[] {
  return [
    ...to.map((part) => ({ from: from.find((one) => one[key] === part[key]) ?? null, to: part })),
    ...from.filter((part) => !to.some((one) => one[key] === part[key])).map((part) => ({ from: part, to: null })),
  ];
}

/** As `paired`; what is left over on both sides under one number was given another name. */
function pairedPorts(from: Rig['ports'], to: Rig['ports']): Pair<Rig['ports'][number]>[] {
  const pairs = paired(from, to, 'probe');
  const left = pairs.flatMap((pair) => (pair.to === null && pair.from !== null ? [pair.from] : []));
  const gone = new Map(left.map((port) => [port.port, port]));
  const renamed = new Set<string>();
  const joined = pairs.flatMap((pair) => {
    const earlier = pair.from === null && pair.to !== null ? gone.get(pair.to.port) : undefined;
    if (earlier === undefined) return [pair];
    renamed.add(earlier.probe);
    return [{ from: earlier, to: pair.to }];
  });
  return joined.filter(({ from: earlier, to: later }) => later !== null || !renamed.has(earlier?.probe ?? ''));
}

function partsDiffer<Part extends object>(
  kind: string,
  pairs: readonly Pair<Part>[],
  nameOf: (part: Part) => string,
): RigChange[] {
  return pairs.flatMap(({ from, to }): RigChange[] => {
    const named = to ?? from;
    if (named === null) return [];
    const part = `${kind} ${nameOf(named)}`;
    if (from !== null && to !== null) return factsDiffer(part, factsOf(from), factsOf(to));
    const text = allOf(factsOf(named));
    return [{ part, what: 'All of it', before: from === null ? null : text, after: to === null ? null : text }];
  });
}

/** Only what both have: a part that came or went has been told. */
function orderDiffers(parts: string, from: readonly string[], to: readonly string[]): RigChange[] {
  const before = from.filter((name) => to.includes(name)).join(', ');
  const after = to.filter((name) => from.includes(name)).join(', ');
  return before === after ? [] : [{ part: 'The rig as a whole', what: `Order of ${parts}`, before, after }];
}

function factsDiffer(part: string, from: Facts, to: Facts): RigChange[] {
  const left = flat(from);
  const right = flat(to);
  return [...new Set([...left.keys(), ...right.keys()])].flatMap((member) => {
    const [before, after] = [left, right].map((facts) => valueText(member, facts.get(member)));
    if (before === after) return [];
    return [{ part, what: memberText(member), before: before ?? null, after: after ?? null }];
  });
}

/** Members by name, those of members behind theirs, parted by blanks; stated values and lists are whole. */
function flat(facts: Facts, above = ''): Map<string, unknown> {
  const found = new Map<string, unknown>();
  for (const [name, value] of Object.entries(facts)) {
    const member = above === '' ? name : `${above} ${name}`;
    if (isFacts(value) && !isStated(value) && Object.keys(value).length > 0) {
      for (const [deeper, one] of flat(value, member)) found.set(deeper, one);
    } else if (value !== undefined) found.set(member, value);
  }
  return found;
}

function memberText(member: string): string {
  const known = members[member];
  if (known !== undefined) return known[0];
  return member.startsWith('settings ') ? `Setting ${member.slice('settings '.length).replaceAll(' ', '.')}` : member;
}

/** Null where it is not there. Numbers as they were given: what differs reads differently. */
function valueText(member: string, value: unknown): string | null {
  if (value === undefined || value === null) return null;
  const unit = members[member]?.[1];
  const withUnit = (text: string): string => (unit === undefined ? text : `${text} ${unit}`);
  if (isStated(value)) return `${withUnit(`${value.value}`)}, u = ${withUnit(`${value.standardUncertainty}`)}`;
  if (typeof value === 'number') return withUnit(`${value}`);
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  // A text is told from the number that reads like it.
  if (typeof value === 'string') return member.startsWith('settings ') ? JSON.stringify(value) : value;
  return JSON.stringify(value);
}

function allOf(facts: Facts): string {
  return [...flat(facts)]
    .flatMap(([member, value]) => {
      const text = valueText(member, value);
      return text === null ? [] : [`${memberText(member).toLowerCase()}: ${text}`];
    })
    .join('; ');
}

function factsOf(part: object): Facts {
  return Object.fromEntries(Object.entries(part));
}

function isFacts(value: unknown): value is Facts {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isStated(value: unknown): value is Stated {
  return isFacts(value) && 'value' in value && 'standardUncertainty' in value && Object.keys(value).length === 2;
}

function without(facts: Facts, member: string): Facts {
  return Object.fromEntries(Object.entries(facts).filter(([name]) => name !== member));
}
