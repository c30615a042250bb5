import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import { createModbusClient } from '../../../../drivers/framing/modbus-client.ts';
import type { ModbusClient } from '../../../../drivers/framing/modbus-client.ts';
import { modbusSettingsSchema } from '../../../../drivers/framing/modbus-settings.ts';
import { createModbusDevice } from '../../../../drivers/simulation/modbus-device.ts';
import type { ModbusDevice } from '../../../../drivers/simulation/modbus-device.ts';
import { createSharedLine } from '../../../../src/host/transport/shared-line.ts';
import type { Transport } from '../../../../src/device/transport.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  settlePromises,
} from '../../../contract/drivers/support.ts';
import type { RecordingSink, TestCable } from '../../../contract/drivers/support.ts';

interface Party {
  readonly transport: Transport;
  readonly sink: RecordingSink;
  readonly client: ModbusClient;
  readonly read: () => Promise<number | string>;
}

/** Two slaves on one cable, each with its number in its only register; answers take 3 ms. */
function bench() {
  const clock = createManualClock();
  const cables: TestCable[] = [];
  const devices: ModbusDevice[] = [];
  const line = createSharedLine(async () => {
    const cable = createTestCable();
    cables.push(cable);
    devices.length = 0;
    for (const address of [1, 2]) {
      const device = createModbusDevice({
        settings: modbusSettingsSchema.parse({ address }),
        context: {
          timers: clock,
          random: createRandom(address),
          send: (bytes) => {
            cable.arrive(bytes, clock.now());
          },
        },
        respond: () => ({ answer: 'registers', registers: [address * 100] }),
        delayMicroseconds: () => 3_000,
      });
      device.start();
      devices.push(device);
    }
    cable.onWrite((bytes) => {
      for (const device of devices) device.receive(bytes);
    });
    return cable;
  }, clock);

  const join = async (address: number): Promise<Party> => {
    const transport = await line.open(clock.now);
    const sink = createRecordingSink();
    const client = createModbusClient({
      context: {
        instrument: `slave-${address}`,
        settings: modbusSettingsSchema.parse({ address }),
        transport,
        timers: clock,
        lines: createLineFramer,
        sink,
      },
    });
    transport.onClose((reason) => {
      client.end(reason);
    });
    const read = (): Promise<number | string> =>
      client.ask({ function: 4, start: 0, count: 1 }).then(
        ({ answer }) => (answer.answer === 'registers' ? (answer.registers[0] ?? -1) : -1),
        (error: unknown) => (error as { code: string }).code,
      );
    return { transport, sink, client, read };
  };
  /** Lets time pass, with promises in between. */
  const pass = async (milliseconds: number): Promise<void> => {
    for (let step = 0; step < milliseconds; step += 1) {
      clock.advance(1_000);
      await settlePromises();
    }
  };
  return { clock, cables, devices, line, join, pass };
}

describe('two instruments on one line', () => {
  it('get their own answers when both ask at once, a hundred times', async () => {
    const { cables, join, pass } = bench();
    const one = await join(1);
    const two = await join(2);
    expect(cables).toHaveLength(1);
    const asked = Array.from({ length: 100 }, () => [one.read(), two.read()] as const).flat();
    await pass(2_000);
    expect(await Promise.all(asked)).toEqual(Array.from({ length: 100 }, () => [100, 200]).flat());
    for (const party of [one, two]) {
      expect(party.sink.problems).toEqual([]);
      expect(party.sink.understoodBytes).toBe(700);
    }
  });

  it('do not wait for ever for one that says nothing, and its late answer is nobody’s reading', async () => {
    const { devices, join, pass } = bench();
    const one = await join(1);
    const two = await join(2);
    devices[0]?.inject({ fault: 'silence', seconds: 1 });
    const asked = [one.read(), two.read()];
    await pass(600);
    expect(await Promise.all(asked)).toEqual(['request-timed-out', 200]);
    await pass(600);
    const again = [two.read(), one.read()];
    await pass(50);
    expect(await Promise.all(again)).toEqual([200, 100]);
  });

  it('are told when the line breaks, and it is opened anew for the first that comes back', async () => {
    const { cables, join, pass, line } = bench();
    const one = await join(1);
    const two = await join(2);
    const asked = [one.read(), two.read()];
    cables[0]?.breakOff('pulled out');
    await pass(1);
    expect(await Promise.all(asked)).toEqual(['transport-closed', 'transport-closed']);
    expect(line.isOpen).toBe(false);
    const [back, other] = await Promise.all([join(1), join(2)]);
    expect(cables).toHaveLength(2);
    const reads = [back.read(), other.read()];
    await pass(50);
    expect(await Promise.all(reads)).toEqual([100, 200]);
  });

  it('keep the line while one leaves, even in the middle of its turn, and give it back with the last', async () => {
    const { cables, join, pass, line } = bench();
    let closed = 0;
    const one = await join(1);
    const two = await join(2);
    const cable = cables[0];
    if (cable !== undefined) {
      cable.close = () => {
        closed += 1;
        cable.breakOff('closed by the program');
        return Promise.resolve();
      };
    }
    const asked = [one.read(), two.read()];
    await one.transport.close();
    await one.transport.close();
    await pass(50);
    expect(await Promise.all(asked)).toEqual(['transport-closed', 200]);
    expect(closed).toBe(0);
    await two.transport.close();
    expect(closed).toBe(1);
    expect(line.isOpen).toBe(false);
  });

  it('say why when the line cannot be opened, and try again', async () => {
    const clock = createManualClock();
    let attempts = 0;
    const line = createSharedLine(() => {
      attempts += 1;
      return attempts === 1 ? Promise.reject(new Error('no such port')) : Promise.resolve(createTestCable());
    }, clock);
    await expect(line.open(clock.now)).rejects.toThrow('no such port');
    expect(line.isOpen).toBe(false);
    await line.open(clock.now);
    expect(attempts).toBe(2);
  });
});
