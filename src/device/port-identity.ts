import { z } from 'zod';

const text = z.string().min(1).max(300).nullable();

/** A port as the machine describes it today; null where it says nothing. */
export const machinePortSchema = z.object({
  /** Today's name, `/dev/ttyUSB0`, `COM3`. */
  path: z.string().min(1),
  /** A name that the system makes of what is plugged in, without its folder. */
  byId: text,
  /** Four hex digits each. */
  vendorId: text,
  productId: text,
  /** Of the adapter, not of the instrument behind it. */
  serialNumber: text,
  manufacturer: text,
});
export type MachinePort = z.infer<typeof machinePortSchema>;

/** By what a port is found again under whatever name it has. At least one field is not null. */
export const portIdentitySchema = z.object({
  byId: text,
  vendorId: text,
  productId: text,
  serialNumber: text,
  /** What the instrument said of itself when it was asked. */
  told: text,
});
export type PortIdentity = z.infer<typeof portIdentitySchema>;

/** What tells this port from others, as far as anything does; null: nothing but its name. */
export function identityOf(port: Omit<MachinePort, 'path' | 'manufacturer'>, told: string | null): PortIdentity | null {
  const { byId, vendorId, productId, serialNumber } = port;
  const identity = { byId, vendorId, productId, serialNumber, told };
  return Object.values(identity).some((value) => value !== null) ? identity : null;
}

/** `adapter 0403:6001 with serial number A5XK3RJT, usb-…-port0, which says “maker, model, 17”` */
export function identityWords(identity: PortIdentity): string {
  const { byId, vendorId, productId, serialNumber, told } = identity;
  const kind = vendorId === null && productId === null ? '' : ` ${vendorId ?? '?'}:${productId ?? '?'}`;
  const serial = serialNumber === null ? '' : `${kind === '' ? '' : ' with'} serial number ${serialNumber}`;
  const adapter = kind === '' && serial === '' ? [] : [`adapter${kind}${serial}`];
  const parts = [...adapter, ...(byId === null ? [] : [byId])];
  if (told !== null) parts.push(parts.length === 0 ? `an instrument that says “${told}”` : `which says “${told}”`);
  return parts.join(', ');
}

/** What is known of a port besides its name, in words; empty: nothing. */
export function portWords(port: MachinePort): string {
  const { byId, manufacturer, productId, serialNumber, vendorId } = port;
  const kind = vendorId === null && productId === null ? [] : [`${vendorId ?? '?'}:${productId ?? '?'}`];
  const serial = serialNumber === null ? [] : [`serial number ${serialNumber}`];
  return [...(manufacturer === null ? [] : [manufacturer]), ...kind, ...serial, ...(byId === null ? [] : [byId])].join(
    ', ',
  );
}

/**
 * The ports that fit an identity by what the machine says of them; null when the identity holds nothing that a machine
 * says. Adapter and serial number count before the name that a system makes of them: adapters of one kind without
 * serial numbers share one such name, which then leads to the one that was plugged in last.
 */
export function fittingPorts(identity: PortIdentity, ports: readonly MachinePort[]): MachinePort[] | null {
  const { byId, productId, serialNumber, vendorId } = identity;
  const knowsAdapter = vendorId !== null || serialNumber !== null;
  const machineTells = ports.some((port) => port.vendorId !== null || port.serialNumber !== null);
  if (knowsAdapter && machineTells) {
    const fitting = ports.filter(
      (port) =>
        port.vendorId === vendorId && port.productId === productId && port.serialNumber === serialNumber,
    );
    // An adapter of several ports has one serial number for all of them.
    if (fitting.length > 1 && serialNumber !== null && byId !== null) {
      const named = fitting.filter((port) => port.byId === byId);
      if (named.length === 1) return named;
    }
    return fitting;
  }
  if (byId !== null) return ports.filter((port) => port.byId === byId);
  return knowsAdapter ? [] : null;
}

/** Whether the machine could take these two for one port, by what it says of them. */
export function looksAlike(one: PortIdentity, other: PortIdentity): boolean {
  const { productId, serialNumber, vendorId } = one;
  if (vendorId === null && serialNumber === null) return one.byId !== null && one.byId === other.byId;
  const sameAdapter =
    vendorId === other.vendorId && productId === other.productId && serialNumber === other.serialNumber;
  // Ports of one adapter have names of their own; adapters of a kind without serial numbers share one.
  return sameAdapter && (serialNumber === null || one.byId === null || other.byId === null || one.byId === other.byId);
}

/**
 * Whether two settings mean one port: by their identities where both have one, else by its name. Where there is no
 * serial number, adapters of a kind look alike: then the remembered name counts as well, and what the instruments said.
 */
export function samePort(
  one: { readonly path: string; readonly identity?: PortIdentity | undefined },
  other: { readonly path: string; readonly identity?: PortIdentity | undefined },
): boolean {
  if (one.identity === undefined || other.identity === undefined) return one.path === other.path;
  const [first, second] = [one.identity, other.identity];
  if (tellsHardware(first) && tellsHardware(second)) {
    if (!looksAlike(first, second)) return false;
    if (first.serialNumber !== null) return true;
  }
  if (first.told !== null && second.told !== null && first.told !== second.told) return false;
  return one.path === other.path;
}

const tellsHardware = ({ byId, serialNumber, vendorId }: PortIdentity): boolean =>
  byId !== null || serialNumber !== null || vendorId !== null;
