import type { SimulatorContext } from '../../../src/device/simulator.ts';
import type { ModbusAnswer, ModbusRequest } from '../../framing/modbus-rtu.ts';
import { createModbusDevice } from '../../simulation/modbus-device.ts';
import type { ModbusDevice } from '../../simulation/modbus-device.ts';
import { createSimulatedValve } from '../../simulation/valve.ts';
import type { SimulatedValve, ValveWorld } from '../../simulation/valve.ts';
import { createModbusValveCodec } from './codec.ts';
import type { ModbusValveSettings } from './manifest.ts';

export interface ModbusValveSimulator extends ModbusDevice, Pick<SimulatedValve, 'setBehaviour'> {}

const illegalAddress: ModbusAnswer = { answer: 'exception', exception: 2 };

/** A valve that takes a port at once and says where it stands when it is asked. */
export function createModbusValveSimulator(
  settings: ModbusValveSettings,
  context: SimulatorContext,
  world: ValveWorld,
): ModbusValveSimulator {
  const codec = createModbusValveCodec(settings);
  const valve = createSimulatedValve({
    timers: context.timers,
    world,
    ports: settings.ports,
    lateSeconds: settings.confirmTimeoutSeconds * 1.5,
  });
  const respond = (request: ModbusRequest): ModbusAnswer | null => {
    if (valve.behaviour === 'never') return null;
    const { position } = codec;
    if (JSON.stringify(request) === JSON.stringify(position)) return codec.write(valve.shownPort);
    const port = codec.selected(request);
    if (port === null) return illegalAddress;
    if (port < 1 || port > settings.ports) return { answer: 'exception', exception: 3 };
    valve.moveTo(port);
    return { answer: 'written' };
  };
  const device = createModbusDevice({ settings, context, respond, onStop: () => valve.stop() });
  return { ...device, setBehaviour: valve.setBehaviour };
}
