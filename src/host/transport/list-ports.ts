import { readdir, realpath } from 'node:fs/promises';
import { join } from 'node:path';
import type { MachinePort } from '../../device/port-identity.ts';

export interface PortListing {
  readonly ports: readonly MachinePort[];
  /** Why the list may not be complete, or tells little, and what to do; null when there is nothing to say. */
  readonly note: string | null;
}

/** The part of the library's entry that is used: its own type does not resolve. */
export interface SystemPort {
  readonly path: string;
  readonly manufacturer?: string | undefined;
  readonly serialNumber?: string | undefined;
  readonly vendorId?: string | undefined;
  readonly productId?: string | undefined;
}

export interface ListingParts {
  /** What the operating system lists; it may throw: on Linux it takes udev. */
  readonly systemPorts: () => Promise<readonly SystemPort[]>;
  /** Folder of names that the system makes of what is plugged in; they are links to the ports. */
  readonly byIdFolder: string;
  /** Folder of the ports themselves, looked through where the system does not list them. */
  readonly deviceFolder: string;
  /** How long the operating system may take, ms. */
  readonly limitMilliseconds: number;
}

const typedPathHint = 'A path typed by hand always works.';

async function systemPorts(): Promise<readonly SystemPort[]> {
  const { SerialPort } = await import('serialport');
  return (await SerialPort.list()) as readonly SystemPort[];
}

const ofThisMachine: ListingParts = {
  ...{ systemPorts, byIdFolder: '/dev/serial/by-id', deviceFolder: '/dev', limitMilliseconds: 3_000 },
};

/** Those that were asked and have not answered yet: each hangs once, not once more at every attempt. */
const hanging = new WeakSet<ListingParts['systemPorts']>();

async function askSystem(ask: ListingParts['systemPorts'], limitMilliseconds: number): Promise<readonly SystemPort[]> {
  if (hanging.has(ask)) throw new Error('it still has not answered when it was asked before');
  const asked = ask();
  let timer: NodeJS.Timeout | undefined;
  const limit = new Promise<never>((_, reject) => {
    timer = setTimeout(() => {
      hanging.add(ask);
      const settled = (): void => void hanging.delete(ask);
      asked.then(settled, settled);
      reject(new Error(`no answer within ${limitMilliseconds / 1000} s`));
    }, limitMilliseconds);
  });
  try {
    return await Promise.race([asked, limit]);
  } finally {
    clearTimeout(timer);
  }
}

/** Names of adapters and of ports on a board, on Linux and macOS; consoles and built-in placeholders are none. */
const deviceForm = /^(tty(USB|ACM|AMA|SC|XRUSB)[0-9]+|cu\.(usb|serial).+)$/i;

const filled = (value: string | undefined): string | null => (value === undefined || value === '' ? null : value);

const nothingKnown = { byId: null, vendorId: null, productId: null, serialNumber: null, manufacturer: null };

/** Names by the port to which they lead. */
async function namesById(folder: string): Promise<Map<string, string>> {
  const names = new Map<string, string>();
  for (const name of (await readdir(folder).catch(() => [])).sort()) {
    const path = await realpath(join(folder, name)).catch(() => null);
    if (path !== null && !names.has(path)) names.set(path, name);
  }
  return names;
}

/**
 * The machine's serial ports with what it knows of each; none is opened. Never fails: where the operating system
 * cannot list them, or does not answer, names of devices are looked through, and the note says that nothing more is
 * known.
 */
export async function listSerialPorts(parts: Partial<ListingParts> = {}): Promise<PortListing> {
  const { byIdFolder, deviceFolder, limitMilliseconds, systemPorts: ask } = { ...ofThisMachine, ...parts };
  const names = await namesById(byIdFolder);
  const ports = new Map<string, MachinePort>();
  let reason: string | null = null;
  try {
    for (const { manufacturer, path, productId, serialNumber, vendorId } of await askSystem(ask, limitMilliseconds)) {
      ports.set(path, {
        ...{ path, byId: names.get(path) ?? null, manufacturer: filled(manufacturer) },
        vendorId: filled(vendorId)?.toLowerCase() ?? null,
        productId: filled(productId)?.toLowerCase() ?? null,
        serialNumber: filled(serialNumber),
      });
    }
  } catch (error) {
    reason = error instanceof Error ? error.message : String(error);
    for (const name of await readdir(deviceFolder).catch(() => [])) {
      const path = join(deviceFolder, name);
      if (deviceForm.test(name)) ports.set(path, { ...nothingKnown, path, byId: names.get(path) ?? null });
    }
  }
  for (const [path, byId] of names) if (!ports.has(path)) ports.set(path, { ...nothingKnown, path, byId });
  const listed = [...ports.values()].sort((one, other) => one.path.localeCompare(other.path, 'en', { numeric: true }));
  return { ports: listed, note: noteOf(listed.length, reason) };
}

function noteOf(count: number, reason: string | null): string | null {
  if (reason !== null) {
    const found = count === 0 ? 'and no device has the name of one' : 'so only names are known, and nothing more';
    return `This machine does not list its serial ports (${reason}), ${found}. ${typedPathHint}`;
  }
  return count === 0 ? `This machine names no serial port. ${typedPathHint}` : null;
}
