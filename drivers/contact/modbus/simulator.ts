import type { SimulatorContext } from '../../../src/device/simulator.ts';
import { contactQuantities } from '../../framing/contact.ts';
import type { ModbusAnswer, ModbusRequest } from '../../framing/modbus-rtu.ts';
import { createSimulatedContacts } from '../../simulation/contact.ts';
import type { ContactSense, SimulatedContacts } from '../../simulation/contact.ts';
import { createModbusDevice } from '../../simulation/modbus-device.ts';
import type { ModbusDevice } from '../../simulation/modbus-device.ts';
import { bitKey } from './codec.ts';
import type { ModbusContactSettings } from './manifest.ts';

export interface ModbusContactSimulator extends ModbusDevice, Pick<SimulatedContacts, 'set' | 'fail'> {}

const illegalFunction: ModbusAnswer = { answer: 'exception', exception: 1 };
const illegalAddress: ModbusAnswer = { answer: 'exception', exception: 2 };

/** An input module: a bit for each contact, and a coil for the beacon where there is one. */
export function createModbusContactSimulator(
  settings: ModbusContactSettings,
  context: SimulatorContext,
  world: { readonly setBeacon: (on: boolean) => void; readonly sense?: ContactSense },
): ModbusContactSimulator {
  const contacts = createSimulatedContacts({
    timers: context.timers,
    normally: settings.normally,
    ...(world.sense === undefined ? {} : { sense: world.sense }),
    onChange: () => undefined,
  });
  let beaconOn = false;

  const bits = (): ReadonlyMap<string, boolean> => {
    const present = new Map<string, boolean>();
    for (const { stream } of contactQuantities) {
      const place = settings.inputs[stream as keyof ModbusContactSettings['inputs']];
      if (place !== null) present.set(bitKey(place.table, place.bit), contacts.isClosed(stream));
    }
    if (settings.beaconCoil !== null) present.set(bitKey('coils', settings.beaconCoil), beaconOn);
    return present;
  };

  const respond = (request: ModbusRequest): ModbusAnswer => {
    if (request.function === 1 || request.function === 2) {
      const present = bits();
      const table = request.function === 1 ? 'coils' : 'discrete-inputs';
      const read: boolean[] = [];
      for (let index = 0; index < request.count; index += 1) {
        const bit = present.get(bitKey(table, request.start + index));
        if (bit === undefined) return illegalAddress;
        read.push(bit);
      }
      return { answer: 'bits', bits: read };
    }
    if (request.function !== 5) return illegalFunction;
    if (request.coil !== settings.beaconCoil) return illegalAddress;
    beaconOn = request.on;
    world.setBeacon(beaconOn);
    return { answer: 'written' };
  };

  const device = createModbusDevice({ settings, context, respond, onStop: () => contacts.stop() });
  return { ...device, set: contacts.set, fail: contacts.fail };
}
