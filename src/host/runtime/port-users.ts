import { realpath } from 'node:fs/promises';
import type { ConnectionSettings } from '../../bridge/snapshot.ts';
import { fittingPorts, looksAlike } from '../../device/port-identity.ts';
import type { MachinePort, PortIdentity } from '../../device/port-identity.ts';
import type { PortHolder } from '../transport/port-holders.ts';

/** Where an instrument of the open rig is, or was. */
export interface PortUser {
  readonly instrument: string;
  readonly connected: boolean;
  /** The port at which it was opened last, or its opening was tried; null: none, or no serial port. */
  readonly lastPath: string | null;
  /** Where the laboratory says that it is. */
  readonly settings: ConnectionSettings | null;
  /** Others may be on its line. */
  readonly sharesLine: boolean;
}

/** By what its port is found again; null: by its name, or it is on no serial port. */
export const identityIn = (settings: ConnectionSettings | null): PortIdentity | null =>
  settings?.kind === 'serial' ? (settings.identity ?? null) : null;

const realName = (path: string): Promise<string> => realpath(path).catch(() => path);

/**
 * Which of these instruments each of these ports belongs to, by path as it is given: one that is lost keeps the port at
 * which it was, and the one that fits it by its identity, because there it comes back by itself.
 * @param inTrial where several ports fit, all of them are kept for it; else none, for only asking tells which it is.
 */
export async function belongingTo(
  users: readonly PortUser[],
  paths: readonly string[],
  list: () => Promise<readonly MachinePort[]>,
  inTrial: boolean,
): Promise<Map<string, string>> {
  const lost = users.filter(({ connected }) => !connected);
  const fitted: (readonly [string, string])[] = [];
  const ports = lost.some(({ settings }) => identityIn(settings) !== null) ? await list() : [];
  for (const { instrument, settings } of lost) {
    const identity = identityIn(settings);
    const fitting = identity === null ? [] : (fittingPorts(identity, ports) ?? []);
    if (fitting.length === 1 || inTrial) fitted.push(...fitting.map(({ path }) => [path, instrument] as const));
  }
  // A name is the port of whoever is connected there, whoever was before.
  const connected = lastPlaces(users.filter((user) => user.connected));
  return namesAt(paths, [...fitted, ...lastPlaces(lost), ...connected]);
}

/**
 * Why the only port that fits may belong to another instrument of the rig; null: nothing speaks for that. Two that are
 * remembered at one port of a shared line are no rivals.
 * @param path the port that fits.
 * @param shares others may be on its line.
 */
export async function rivalFor(
  path: string,
  settings: { readonly path: string; readonly identity: PortIdentity },
  shares: boolean,
  others: readonly PortUser[],
): Promise<string | null> {
  const { identity } = settings;
  const unique = identity.serialNumber !== null;
  for (const { connected, instrument, lastPath, settings: its, sharesLine } of others) {
    const bothShare = shares && sharesLine;
    if (its?.kind !== 'serial' || (bothShare && (unique || its.path === settings.path))) continue;
    const theirs = its.identity;
    if (theirs !== undefined && looksAlike(identity, theirs)) {
      return `nothing tells it from that of ${instrument}`;
    }
    if (unique) continue;
    const place = await realName(path);
    if (connected && lastPath !== null && (await realName(lastPath)) === place) {
      return `${instrument} is connected there`;
    }
    if (theirs === undefined && (await realName(its.path)) === place) {
      return `by its name it is the port of ${instrument}`;
    }
  }
  return null;
}

/** Ports that others have open, or that are theirs by name: no question is for them. */
export async function keptByOthers(
  others: readonly PortUser[],
  paths: readonly string[],
): Promise<ReadonlyMap<string, string>> {
  const named = others.flatMap(({ instrument, settings }) =>
    settings?.kind === 'serial' && settings.identity === undefined ? [[settings.path, instrument] as const] : [],
  );
  return namesAt(paths, [...named, ...lastPlaces(others.filter(({ connected }) => connected))]);
}

function lastPlaces(users: readonly PortUser[]): (readonly [string, string])[] {
  return users.flatMap(({ instrument, lastPath }) => (lastPath === null ? [] : [[lastPath, instrument] as const]));
}

/** @param places path and instrument; of one port the last counts. */
async function namesAt(
  paths: readonly string[],
  places: readonly (readonly [string, string])[],
): Promise<Map<string, string>> {
  const own = new Map<string, string>();
  for (const [path, instrument] of places) own.set(await realName(path), instrument);
  const found = new Map<string, string>();
  for (const path of paths) {
    const instrument = own.get(await realName(path));
    if (instrument !== undefined) found.set(path, instrument);
  }
  return found;
}

/** Who uses each of these ports, in words, by path as it is given. */
export async function userWords(
  paths: readonly string[],
  instruments: ReadonlyMap<string, string>,
  holders: (paths: readonly string[]) => Promise<ReadonlyMap<string, PortHolder>>,
): Promise<Map<string, string>> {
  const held = await holders(paths);
  const found = new Map<string, string>();
  for (const path of paths) {
    const instrument = instruments.get(path);
    const holder = held.get(path);
    if (instrument !== undefined) found.set(path, `${instrument} of the open rig`);
    else if (holder?.processId === process.pid) found.set(path, 'asked at this moment');
    else if (holder !== undefined) found.set(path, `process ${holder.processId}, ${holder.name}`);
  }
  return found;
}
