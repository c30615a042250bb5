import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { createContactReader } from '../../framing/contact.ts';
import { openModbusPoll } from '../../framing/modbus-poll.ts';
import { createModbusContactCodec } from './codec.ts';
import type { ModbusContactSettings } from './manifest.ts';

/** Asks for the contacts at intervals, and switches the beacon where there is one. */
export function openModbusContacts(context: DriverContext<ModbusContactSettings>): DriverSession {
  const { settings } = context;
  const codec = createModbusContactCodec(settings);
  const values = createContactReader(settings);
  return openModbusPoll({
    context: { ...context, settings: { ...settings, plausible: {} } },
    quantities: codec.quantities,
    requests: codec.requests,
    read: (answers, atMicroseconds) => ({ read: 'values', values: values(codec.read(answers), atMicroseconds) }),
    ...(codec.beacon === null ? {} : { outputs: [codec.beacon] }),
  });
}
