import { listSerialPorts } from '../transport/list-ports.ts';
import type { Command } from './command.ts';
import { formatTable } from './table.ts';

export const portsCommand: Command = {
  name: 'ports',
  summary: 'list the serial ports of this machine',
  options: [],
  notes: [
    'A port that is not listed (a pseudo-terminal, a machine without device management) can be typed all the same.',
  ],
  async run(values, output) {
    const listing = await listSerialPorts();
    if (values.json) {
      output.line(JSON.stringify(listing));
      return 0;
    }
    if (listing.ports.length > 0) {
      output.line(
        formatTable(
          [
            { heading: 'port', align: 'left' },
            { heading: 'made by', align: 'left' },
            { heading: 'serial number', align: 'left' },
          ],
          listing.ports.map((port) => [port.path, port.manufacturer ?? '', port.serialNumber ?? '']),
        ),
      );
    } else {
      output.line('No serial port is listed.');
    }
    if (listing.note !== null) output.note(listing.note);
    return 0;
  },
};
