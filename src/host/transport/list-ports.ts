/** A serial port as the operating system describes it; undefined where it says nothing. */
export interface ListedPort {
  readonly path: string;
  readonly manufacturer?: string;
  readonly serialNumber?: string;
}

export interface PortListing {
  readonly ports: readonly ListedPort[];
  /** Why the list may not be complete, and what to do; null when there is nothing to say. */
  readonly note: string | null;
}

interface PortEntry {
  readonly path: string;
  readonly manufacturer: string | undefined;
  readonly serialNumber: string | undefined;
}

const typedPathHint = 'A path typed by hand always works.';

/**
 * The machine's serial ports. Never fails: where the operating system cannot list them (on Linux that takes udev),
 * the list is empty and the note says so.
 */
export async function listSerialPorts(): Promise<PortListing> {
  const { SerialPort } = await import('serialport');
  try {
    // The library's own type of an entry does not resolve; this is the part of it that is used.
    const entries = (await SerialPort.list()) as readonly PortEntry[];
    const ports = entries.map((port) => ({
      path: port.path,
      ...(port.manufacturer === undefined ? {} : { manufacturer: port.manufacturer }),
      ...(port.serialNumber === undefined ? {} : { serialNumber: port.serialNumber }),
    }));
    return { ports, note: ports.length === 0 ? `This machine names no serial port. ${typedPathHint}` : null };
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    return { ports: [], note: `The serial ports of this machine cannot be listed (${reason}). ${typedPathHint}` };
  }
}
