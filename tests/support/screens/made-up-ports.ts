import type { HostProcedures } from '../../../src/host/door/served-host.ts';
import type { OfferedPort } from '../../../src/bridge/ports.ts';

const adapter = (path: string, serialNumber: string | null, usedBy: string | null): OfferedPort => ({
  path,
  byId: `usb-Serial_Adapter${serialNumber === null ? '' : `_${serialNumber}`}-if00-port0`,
  vendorId: '0403',
  productId: '6001',
  serialNumber,
  manufacturer: 'Adapters',
  usedBy,
});

const sent = 'a line of 28 characters × 10 bits × 20 a second = 5600 bit/s';

/** A machine with an adapter in use, one that is free, and one of which nothing is known. */
export function madeUpPorts(
  done: (what: string) => Promise<Record<string, never>>,
): Pick<HostProcedures['rig'], 'offeredPorts' | 'line' | 'askPorts'> {
  return {
    offeredPorts: async () => ({
      ports: [
        adapter('/dev/ttyUSB0', 'A5XK3RJT', 'photometer of the open rig'),
        adapter('/dev/ttyUSB1', 'B7QM0PLC', null),
        {
          ...{ path: '/dev/ttyAMA0', byId: null, vendorId: null, productId: null, serialNumber: null },
          ...{ manufacturer: null, usedBy: null },
        },
      ],
      note: null,
    }),
    line: async ({ baudRate }) => ({
      recognised: { question: String.raw`*IDN?\n`, limitSeconds: 1 },
      load: `${sent}, ${Math.round(560_000 / baudRate)} % of ${baudRate}`,
      overload: baudRate >= 5600 ? null : `${sent}, and the port carries ${baudRate}`,
    }),
    async askPorts({ ports }) {
      await done(`rig.askPorts ${ports.join(' ')}`);
      return ports.map((path) =>
        path.includes('USB')
          ? { path, answer: 'recognised' as const, told: 'Bench, multimeter, 17', detail: '"Bench,multimeter,17,1.2"' }
          : { path, answer: 'nothing' as const, told: null, detail: 'nothing came within 1 s' },
      );
    },
  };
}
