import { ReadlineParser } from '@serialport/parser-readline';
import { z } from 'zod';
import { createPhotometerCodec } from '../../../drivers/photometer/text-lines/codec.ts';
import { photometerSettingsSchema } from '../../../drivers/photometer/text-lines/manifest.ts';
import type { Transport } from '../../../src/device/transport.ts';
import { createAcquisition } from '../../../src/host/acquisition/acquisition.ts';
import { createMonotonicClock } from '../../../src/host/clock/monotonic-clock.ts';
import { createReadlineFramer } from '../../../src/host/transport/readline-framer.ts';
import { createReceiver, type Receiver } from '../../../src/host/transport/receiver.ts';
import { rig, valueAt } from '../../support/store/trial.ts';
import type { Stage } from '../stage.ts';
import { assertSame, timedUntil } from '../stage.ts';

/** What the floor keeps of a line. */
const lineSchema = z.object({ value: z.number(), unit: z.literal('mg/m3'), status: z.literal('ok') });

/**
 * Bytes of a photometer, one line a read, to readings. Floor: the serial library's line parser, `split`, an XOR over
 * the line, `Number` and a schema. Product: receiver, tap, framer behind its cap, driver, acquisition.
 */
export const ingest: Stage = {
  name: 'ingest',
  unit: 'µs a line',
  target: 3,
  rounds: { full: 300, tiny: 2 },
  warmUps: 60,
  async begin() {
    const settings = photometerSettingsSchema.parse({});
    const codec = createPhotometerCodec(settings);
    const reads = Array.from({ length: 500 }, (_, index) =>
      Buffer.from(`${codec.encode(10 + valueAt(2, index * 10_000), 'ok')}${settings.terminator}`, 'latin1'),
    );
    const program = await openProgram();
    let floorSum = 0;
    const perLine = (milliseconds: number): number => (milliseconds * 1000) / reads.length;
    return {
      async floor() {
        floorSum = 0;
        let lines = 0;
        const took = await timedUntil(async () => {
          const parser = new ReadlineParser({ delimiter: settings.terminator, encoding: 'latin1' });
          parser.on('data', (line: string) => {
            const [, value, unit, status, checksum] = line.split(' ');
            if (checksum !== `*${exclusiveOr(line, line.length - 3)}`) return;
            const read = lineSchema.safeParse({ value: Number(value), unit, status });
            if (!read.success) return;
            lines += 1;
            floorSum += read.data.value;
          });
          for (const bytes of reads) parser.write(bytes);
          parser.end();
          await new Promise((resolve) => parser.once('end', resolve));
        });
        assertSame('ingest', 'lines', lines, reads.length);
        return perLine(took);
      },
      async product() {
        const before = { ...program.counted };
        program.counted.sum = 0;
        const took = await timedUntil(async () => {
          for (const bytes of reads) program.deliver(bytes);
        });
        assertSame('ingest', 'lines', reads.length, program.counted.readings - before.readings);
        if (floorSum !== 0) assertSame('ingest', 'the sum', floorSum, program.counted.sum);
        return perLine(took);
      },
      end: () => program.end(),
    };
  },
};

function exclusiveOr(line: string, length: number): string {
  let sum = 0;
  for (let index = 0; index < length; index += 1) sum ^= line.charCodeAt(index);
  return sum.toString(16).toUpperCase().padStart(2, '0');
}

/** The program's acquisition on wires that the bench holds the other ends of. */
async function openProgram() {
  const clock = createMonotonicClock();
  const receivers = new Map<string, Receiver>();
  const counted = { readings: 0, sum: 0, bytes: 0 };
  const acquisition = createAcquisition({
    rig,
    clock,
    lines: createReadlineFramer,
    sink: {
      wire: (_instrument, _direction, _at, bytes) => void (counted.bytes += bytes.length),
      reading(_stream, { value }) {
        counted.readings += 1;
        counted.sum += value;
      },
      problem(problem) {
        throw new Error(`ingest: ${problem.code}: ${problem.detail}`);
      },
    },
    async openTransport(instrument): Promise<Transport> {
      const receiver = createReceiver();
      receivers.set(instrument, receiver);
      const { onBytes, onClose } = receiver;
      const close = async (): Promise<void> => receiver.end('closed by the program');
      return { label: `bench ${instrument}`, write: () => undefined, onBytes, onClose, close };
    },
    longestRetrySeconds: 1,
  });
  acquisition.begin();
  await acquisition.connected();
  const photometer = receivers.get(rig.photometer);
  if (photometer === undefined) throw new Error('ingest: the photometer was not opened');
  return {
    counted,
    /** As the transports do on a read: stamp, copy, deliver. */
    deliver(bytes: Buffer): void {
      const atMicroseconds = clock.now();
      photometer.deliver(new Uint8Array(bytes), atMicroseconds);
    },
    end: () => acquisition.end(),
  };
}
