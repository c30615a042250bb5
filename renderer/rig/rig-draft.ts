import type { z } from 'zod';
import type { ConnectionSettings } from '../../src/bridge/snapshot.ts';
import { connectionSettingsSchema } from '../../src/bridge/snapshot.ts';
import { samePort } from '../../src/device/port-identity.ts';
import type { PortIdentity } from '../../src/device/port-identity.ts';
import type { Rig } from '../../src/model/rig.ts';
import { mayShareLine, usualGuard } from '../../src/model/rig.ts';
import { rigEntrySchema } from '../../src/model/rig-entry.ts';
import type { FieldProblem } from '../ui/field-problem.ts';
import { problemOfIssue } from '../ui/field-problem.ts';
import { readNumber } from '../ui/read-number.ts';
import type { WatchDraft } from './watch-draft.ts';
import { readWatches, watchDraft } from './watch-draft.ts';

/** A connection as it is typed. Both kinds are kept, so that going back and forth loses nothing. */
export interface ConnectionDraft {
  readonly kind: 'none' | ConnectionSettings['kind'];
  readonly path: string;
  readonly baudRate: string;
  /** By what the port is found again; null: by its name. */
  readonly identity: PortIdentity | null;
  readonly host: string;
  readonly port: string;
}

export interface StatedDraft {
  readonly value: string;
  readonly standardUncertainty: string;
}

/** What a port is connected to, as the form offers it. */
export const portPlaces = ['probe', 'breathing-zone', 'reference', 'filtered-air', 'spare'] as const;
export type PortPlace = (typeof portPlaces)[number];

export interface PortDraft {
  readonly port: string;
  readonly role: PortPlace;
  readonly probe: string;
  readonly label: string;
  readonly transitSeconds: StatedDraft;
  readonly dilution: StatedDraft;
  readonly penetration: StatedDraft;
  /** Both may be empty: not stated. */
  readonly lineMetres: string;
  readonly boreMillimetres: string;
}

export interface InstrumentDraft {
  readonly instrument: string;
  readonly kind: string;
  readonly dialect: string;
  /** JSON text of the dialect's settings. */
  readonly settings: string;
  readonly connection: ConnectionDraft;
}

/** A rig on its way into the laboratory: as the form shows it, everything that is typed as text. */
export interface RigDraft {
  readonly name: string;
  /** Its instruments exist only in software. */
  readonly virtual: boolean;
  readonly instruments: readonly InstrumentDraft[];
  readonly timeConstantSeconds: StatedDraft;
  readonly instrumentDelaySeconds: StatedDraft;
  readonly commonTransitSeconds: StatedDraft;
  readonly commonDispersionSeconds: string;
  readonly valveSwitchingSeconds: string;
  readonly bypass: boolean;
  /** May be empty: not stated. */
  readonly lineLitresPerMinute: string;
  readonly guard: NonNullable<Rig['guard']>;
  readonly spatialFactor: StatedDraft;
  readonly saturation: string;
  /** `exchangeSeconds` may be empty: not known. */
  readonly challenge: { readonly agent: string; readonly nominal: string; readonly exchangeSeconds: string };
  readonly ports: readonly PortDraft[];
  readonly watch: readonly WatchDraft[];
  /** What the form does not show and hands on as it was. */
  readonly base: Rig;
}

const statedFields = [
  'timeConstantSeconds',
  'instrumentDelaySeconds',
  'commonTransitSeconds',
  'spatialFactor',
] as const;
const numberFields = ['commonDispersionSeconds', 'valveSwitchingSeconds', 'saturation'] as const;

const noConnection: ConnectionDraft = { kind: 'none', path: '', baudRate: '9600', identity: null, host: '', port: '' };

/** Where an instrument is connected, as the form shows it; null: nobody has said. */
export function connectionDraft(settings: ConnectionSettings | null): ConnectionDraft {
  if (settings === null) return noConnection;
  return settings.kind === 'serial'
    ? {
        ...{ ...noConnection, kind: 'serial', path: settings.path, baudRate: String(settings.baudRate) },
        identity: settings.identity ?? null,
      }
    : { ...noConnection, kind: 'tcp', host: settings.host, port: String(settings.port) };
}

/** What may be left out, as it is typed. */
function optionalText(value: number | undefined): string {
  return value === undefined ? '' : String(value);
}

/** A rig as the form shows it. `connections` by name of the instrument, as far as they are known. */
export function rigDraft(rig: Rig, connections: ReadonlyMap<string, ConnectionSettings>): RigDraft {
  const stated = (of: { value: number; standardUncertainty: number }): StatedDraft => ({
    value: String(of.value),
    standardUncertainty: String(of.standardUncertainty),
  });
  return {
    name: rig.name,
    virtual: rig.virtual,
    instruments: rig.instruments.map((one) => ({
      instrument: one.instrument,
      kind: one.kind,
      dialect: one.dialect,
      settings: JSON.stringify(one.settings, null, 2),
      connection: connectionDraft(connections.get(one.instrument) ?? null),
    })),
    timeConstantSeconds: stated(rig.timeConstantSeconds),
    instrumentDelaySeconds: stated(rig.instrumentDelaySeconds),
    commonTransitSeconds: stated(rig.commonTransitSeconds),
    commonDispersionSeconds: String(rig.commonDispersionSeconds),
    valveSwitchingSeconds: String(rig.valveSwitchingSeconds),
    bypass: rig.bypass,
    lineLitresPerMinute: optionalText(rig.lineLitresPerMinute),
    guard: rig.guard ?? usualGuard,
    spatialFactor: stated(rig.spatialFactor),
    saturation: String(rig.saturation),
    challenge: {
      agent: rig.challenge.agent,
      nominal: String(rig.challenge.nominal),
      exchangeSeconds: optionalText(rig.challenge.exchangeSeconds),
    },
    ports: rig.ports.map((port) => ({
      port: String(port.port),
      role: port.breathingZone === true ? 'breathing-zone' : port.role,
      probe: port.probe,
      label: port.label,
      transitSeconds: stated(port.transitSeconds),
      dilution: stated(port.dilution),
      penetration: stated(port.penetration),
      lineMetres: optionalText(port.lineMetres),
      boreMillimetres: optionalText(port.boreMillimetres),
    })),
    watch: (rig.watch ?? []).map(watchDraft),
    base: rig,
  };
}

/** Problems by path of the field, `ports.2.transitSeconds.value`. */
export type Problems = ReadonlyMap<string, FieldProblem>;

export interface ReadRig {
  readonly rig: Rig | null;
  /** By name of the instrument; those without one are left out. */
  readonly connections: ReadonlyMap<string, ConnectionSettings>;
  readonly problems: Problems;
}

/** The rig that a draft describes, or what keeps it from being one, each at its field. */
export function readRigDraft(draft: RigDraft): ReadRig {
  const problems = new Map<string, FieldProblem>();
  const number = (text: string, path: string): number => {
    const value = readNumber(text);
    if (value === null) problems.set(path, { kind: 'not-a-number' });
    return value ?? 0;
  };
  const stated = (of: StatedDraft, path: string): { value: number; standardUncertainty: number } => ({
    value: number(of.value, `${path}.value`),
    standardUncertainty: number(of.standardUncertainty, `${path}.standardUncertainty`),
  });
  // Empty is not stated: absent, as in a rig that never said it.
  const optional = (text: string, path: string): number | undefined =>
    text.trim() === '' ? undefined : number(text, path);
  const candidate = {
    ...draft.base,
    name: draft.name.trim(),
    virtual: draft.virtual,
    instruments: draft.instruments.map((one, index) => ({
      instrument: one.instrument.trim(),
      kind: one.kind,
      dialect: one.dialect,
      settings: readSettings(one.settings, `instruments.${index}.settings`, problems),
    })),
    ...Object.fromEntries(statedFields.map((field) => [field, stated(draft[field], field)])),
    ...Object.fromEntries(numberFields.map((field) => [field, number(draft[field], field)])),
    bypass: draft.bypass,
    lineLitresPerMinute: optional(draft.lineLitresPerMinute, 'lineLitresPerMinute'),
    // A rig that never said anything goes on so.
    guard: draft.base.guard === undefined && isUsual(draft.guard) ? undefined : draft.guard,
    challenge: {
      agent: draft.challenge.agent.trim(),
      nominal: number(draft.challenge.nominal, 'challenge.nominal'),
      ...(draft.challenge.exchangeSeconds.trim() === ''
        ? {}
        : { exchangeSeconds: number(draft.challenge.exchangeSeconds, 'challenge.exchangeSeconds') }),
    },
    ports: draft.ports.map((port, index) => ({
      port: number(port.port, `ports.${index}.port`),
      role: port.role === 'breathing-zone' ? 'probe' : port.role,
      breathingZone: port.role === 'breathing-zone' ? true : undefined,
      probe: port.probe.trim(),
      label: port.label.trim(),
      transitSeconds: stated(port.transitSeconds, `ports.${index}.transitSeconds`),
      dilution: stated(port.dilution, `ports.${index}.dilution`),
      penetration: stated(port.penetration, `ports.${index}.penetration`),
      lineMetres: optional(port.lineMetres, `ports.${index}.lineMetres`),
      boreMillimetres: optional(port.boreMillimetres, `ports.${index}.boreMillimetres`),
    })),
    // None is no list: absent, as in a rig that never had one.
    watch: draft.watch.length === 0 ? undefined : readWatches(draft.watch, number),
  };
  const parsed = rigEntrySchema.safeParse(candidate);
  if (!parsed.success) addIssues(problems, parsed.error.issues, '');
  const connections = new Map<string, ConnectionSettings>();
  const sharing = new Set<string>();
  draft.instruments.forEach((one, index) => {
    if (one.connection.kind === 'none') return;
    const read = readConnection(one.connection);
    if (read.settings !== null) {
      const { settings } = read;
      const [other] =
        [...connections].find(
          ([name, taken]) => isSamePlace(taken, settings) && !(mayShareLine(one.dialect) && sharing.has(name)),
        ) ?? [];
      const field = settings.kind === 'serial' ? 'path' : 'port';
      const path = `instruments.${index}.connection.${field}`;
      if (other !== undefined) problems.set(path, { kind: 'taken', instrument: other });
      connections.set(one.instrument, settings);
      if (mayShareLine(one.dialect)) sharing.add(one.instrument);
    }
    for (const [path, problem] of read.problems) problems.set(`instruments.${index}.connection.${path}`, problem);
  });
  return { rig: problems.size === 0 && parsed.success ? parsed.data : null, connections, problems };
}

function isUsual({ load, valve }: RigDraft['guard']): boolean {
  return load === usualGuard.load && valve === usualGuard.valve;
}

/** One port carries one instrument, or several with addresses: another would be told that somebody holds it. */
function isSamePlace(one: ConnectionSettings, other: ConnectionSettings): boolean {
  if (one.kind === 'serial') return other.kind === 'serial' && samePort(one, other);
  return other.kind === 'tcp' && one.host === other.host && one.port === other.port;
}

/** The connection that was typed, or what is wrong with it by field. */
export function readConnection(draft: ConnectionDraft): { settings: ConnectionSettings | null; problems: Problems } {
  const problems = new Map<string, FieldProblem>();
  const numbered = draft.kind === 'tcp' ? 'port' : 'baudRate';
  const value = readNumber(draft[numbered]);
  if (value === null) problems.set(numbered, { kind: 'not-a-number' });
  const candidate =
    draft.kind === 'tcp'
      ? { kind: 'tcp', host: draft.host.trim(), port: value ?? 0 }
      : {
          ...{ kind: 'serial', path: draft.path.trim(), baudRate: value ?? 0 },
          ...(draft.identity === null ? {} : { identity: draft.identity }),
        };
  const parsed = connectionSettingsSchema.safeParse(candidate);
  if (!parsed.success) addIssues(problems, parsed.error.issues, '');
  return { settings: problems.size === 0 && parsed.success ? parsed.data : null, problems };
}

/** A port to fill in, with the first number and name that are free. */
export function anotherPort(ports: readonly PortDraft[]): PortDraft {
  const taken = new Set(ports.map((port) => readNumber(port.port)));
  let free = 1;
  while (taken.has(free)) free += 1;
  return {
    port: String(free),
    role: 'probe',
    probe: '',
    label: '',
    transitSeconds: { value: '1', standardUncertainty: '0.05' },
    dilution: { value: '1', standardUncertainty: '0' },
    penetration: { value: '1', standardUncertainty: '0' },
    lineMetres: '',
    boreMillimetres: '',
  };
}

/** An instrument to connect, under a name that is free: what it is, and a figure where there is one of the kind. */
export function anotherInstrument(
  instruments: readonly InstrumentDraft[],
  kind: string,
  dialect: string,
): InstrumentDraft {
  const taken = new Set(instruments.map(({ instrument }) => instrument));
  let name = kind;
  for (let number = 2; taken.has(name); number += 1) name = `${kind}-${number}`;
  return { instrument: name, kind, dialect, settings: '{}', connection: noConnection };
}

/** Whether the rig is one without it: nothing that a trial is made of hangs on it. */
export function mayBeRemoved({ base }: Pick<RigDraft, 'base'>, instrument: string): boolean {
  return ![base.photometer, base.selectorValve, base.heartRate].includes(instrument);
}


/** Settings as they are typed; empty where they are none yet. */
export const typedSettings = (text: string): Record<string, unknown> => readSettings(text, '', new Map());

function readSettings(text: string, path: string, problems: Map<string, FieldProblem>): Record<string, unknown> {
  const trimmed = text.trim();
  if (trimmed === '') return {};
  try {
    const value: unknown = JSON.parse(trimmed);
    if (typeof value === 'object' && value !== null && !Array.isArray(value)) return { ...value };
    problems.set(path, { kind: 'not-an-object' });
  } catch (error) {
    problems.set(path, { kind: 'not-json', detail: error instanceof Error ? error.message : String(error) });
  }
  return {};
}

function addIssues(problems: Map<string, FieldProblem>, issues: readonly z.core.$ZodIssue[], before: string): void {
  for (const issue of issues) {
    const path = before + issue.path.map(String).join('.');
    // What was no number is said already; that it is then zero is nobody's mistake.
    if (!problems.has(path)) problems.set(path, problemOfIssue(issue));
  }
}
