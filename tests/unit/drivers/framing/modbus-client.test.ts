import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import { createModbusClient } from '../../../../drivers/framing/modbus-client.ts';
import { encodeAnswer, encodeRequest, modbusFrame } from '../../../../drivers/framing/modbus-rtu.ts';
import type { ModbusRequest } from '../../../../drivers/framing/modbus-rtu.ts';
import { modbusSettingsSchema } from '../../../../drivers/framing/modbus-settings.ts';
import {
  createManualClock,
  createRecordingSink,
  createTestCable,
  settlePromises,
} from '../../../contract/drivers/support.ts';

const read: ModbusRequest = { function: 4, start: 0, count: 2 };
const holding: ModbusRequest = { function: 3, start: 0, count: 2 };
const twoRegisters = { answer: 'registers', registers: [500, 250] } as const;
const oneRegister = { answer: 'registers', registers: [500] } as const;
const answer = encodeAnswer(1, read, twoRegisters);

function bench() {
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const client = createModbusClient({
    context: {
      instrument: 'specimen',
      settings: modbusSettingsSchema.parse({}),
      transport: cable,
      timers: clock,
      lines: createLineFramer,
      sink,
    },
  });
  const outcome = (request = read): Promise<unknown> =>
    client.ask(request).then(
      (said) => said,
      (error: unknown) => (error as { code: string }).code,
    );
  const balance = (): void => {
    client.end('over');
    expect(client.accountedBytes).toBe(cable.arrivedBytes);
    expect(sink.problemBytes + sink.understoodBytes).toBe(cable.arrivedBytes);
    expect(clock.timerCount).toBe(0);
  };
  return { clock, cable, sink, client, outcome, balance };
}

describe('a conversation over Modbus RTU', () => {
  it('writes the request and takes its answer, torn at every byte', async () => {
    for (let cut = 0; cut <= answer.length; cut += 1) {
      const { cable, outcome, balance } = bench();
      const asked = outcome();
      expect(cable.written).toBe(Buffer.from(encodeRequest(1, read)).toString('latin1'));
      cable.arrive(answer.slice(0, cut), 10);
      cable.arrive(answer.slice(cut), 20);
      expect(await asked).toEqual({
        answer: { answer: 'registers', registers: [500, 250] },
        atMicroseconds: cut === answer.length ? 10 : 20,
      });
      balance();
    }
  });

  it('takes the answer behind a byte of noise', async () => {
    const { cable, sink, outcome, balance } = bench();
    const asked = outcome();
    cable.arrive(Uint8Array.from([0, ...answer]), 10);
    expect(await asked).toMatchObject({ atMicroseconds: 10 });
    expect(sink.problems).toMatchObject([{ code: 'line-undecodable', byteCount: 1 }]);
    balance();
  });

  const refusals: readonly (readonly [string, Uint8Array, string, string])[] = [
    ['an exception', modbusFrame([1, 0x84, 2]), 'status-bad', 'request-refused'],
    ['a wrong check sum', Uint8Array.from([...answer.slice(0, -1), 0]), 'checksum-wrong', 'request-timed-out'],
    ['another slave', encodeAnswer(2, read, twoRegisters), 'answer-unexpected', 'request-timed-out'],
    ['another function', encodeAnswer(1, holding, twoRegisters), 'answer-unexpected', 'request-timed-out'],
    ['fewer registers', encodeAnswer(1, { ...read, count: 1 }, oneRegister), 'answer-unexpected', 'request-timed-out'],
    ['half a frame', answer.slice(0, 5), 'line-incomplete', 'request-timed-out'],
    ['noise', Uint8Array.from([9, 9, 9, 9, 9]), 'line-undecodable', 'request-timed-out'],
  ];
  it.each(refusals)('gives no answer for %s, and says why', async (_what, bytes, code, error) => {
    const { clock, cable, sink, outcome, balance } = bench();
    const asked = outcome();
    cable.arrive(bytes, 10);
    clock.advance(500_000);
    expect(await asked).toBe(error);
    expect(sink.problems).toEqual([expect.objectContaining({ code, byteCount: bytes.length, at: 10 })]);
    balance();
  });

  it('believes a write only when what was written is said again', async () => {
    const write: ModbusRequest = { function: 6, register: 4, value: 7 };
    const { clock, cable, sink, outcome, balance } = bench();
    const asked = outcome(write);
    cable.arrive(encodeAnswer(1, { ...write, value: 8 }, { answer: 'written' }), 10);
    clock.advance(500_000);
    expect(await asked).toBe('request-timed-out');
    expect(sink.codes()).toEqual(['answer-unexpected']);
    const again = outcome(write);
    clock.advance(5_000);
    cable.arrive(encodeAnswer(1, write, { answer: 'written' }), 20);
    expect(await again).toEqual({ answer: { answer: 'written' }, atMicroseconds: 20 });
    balance();
  });

  it('reports an answer that comes after its time as late, and leaves the next request alone', async () => {
    const { clock, cable, sink, outcome, balance } = bench();
    const late = outcome();
    clock.advance(500_000);
    expect(await late).toBe('request-timed-out');
    cable.arrive(answer, clock.now());
    expect(sink.codes()).toEqual(['answer-unexpected']);
    expect(sink.problems[0]?.detail).toContain('late');
    const next = outcome({ function: 4, start: 0, count: 1 });
    clock.advance(5_000);
    cable.arrive(encodeAnswer(1, { function: 4, start: 0, count: 1 }, { answer: 'registers', registers: [3] }), 9);
    expect(await next).toMatchObject({ answer: { registers: [3] } });
    balance();
  });

  it('leaves the line alone between two requests', async () => {
    const { clock, cable, outcome, balance } = bench();
    const both = [outcome(), outcome()];
    cable.arrive(answer, 1);
    expect(cable.written.length).toBe(8);
    clock.advance(4_999);
    expect(cable.written.length).toBe(8);
    clock.advance(1);
    expect(cable.written.length).toBe(16);
    cable.arrive(answer, 2);
    await Promise.all(both);
    balance();
  });

  it('never throws, accounts for every byte and believes no wrong answer, in 30 000 random chunks', async () => {
    const chunk = fc.oneof(
      fc.uint8Array({ maxLength: 40 }),
      fc.constantFrom(answer, modbusFrame([1, 0x84, 4]), modbusFrame([2, 4, 4, 0, 0, 0, 0])),
      fc.nat(answer.length).map((length) => answer.slice(0, length)),
      fc.tuple(fc.nat(answer.length - 1), fc.nat(255)).map(([at, byte]) => {
        const spoiled = answer.slice();
        spoiled[at] = byte;
        return spoiled;
      }),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(chunk, fc.nat(60_000)), { minLength: 20, maxLength: 20 }), async (chunks) => {
        const { clock, cable, client, outcome, balance } = bench();
        const asked: Promise<unknown>[] = [];
        for (const [bytes, pause] of chunks) {
          if (client.pendingCount === 0) asked.push(outcome());
          cable.arrive(bytes, clock.now());
          const pending = cable.arrivedBytes - client.accountedBytes;
          expect(pending).toBeGreaterThanOrEqual(0);
          expect(pending).toBeLessThanOrEqual(256);
          clock.advance(pause);
          await settlePromises();
        }
        balance();
        for (const said of await Promise.all(asked)) {
          if (typeof said === 'string') expect(said).toMatch(/^(request|transport|answer)-/);
          else expect(said).toMatchObject({ answer: { registers: [500, 250] } });
        }
      }),
      { numRuns: 1_500 },
    );
  });
});
