import { climateRegisterSettingsSchema } from '../../../drivers/climate/modbus-registers/manifest.ts';
import { createClimateRegisterSimulator } from '../../../drivers/climate/modbus-registers/simulator.ts';
import type { DriverSession } from '../../../src/device/driver.ts';
import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import type { ExpectedReading } from './specimens.ts';

/** A question and its answer as bytes, written out by hand, one character a byte. */
export interface Exchange {
  readonly request: string;
  readonly answer: string;
  /** What the answer gives once it is there, with those before it. */
  readonly readings: readonly ExpectedReading[];
}

/** What the suite for instruments that only speak when they are asked needs to know about one dialect. */
export interface AskedSpecimen {
  readonly settings: Readonly<Record<string, unknown>>;
  /** Asked when the conversation begins. */
  readonly opening: readonly Exchange[];
  /** Asked at each interval; empty where nothing is. */
  readonly round: readonly Exchange[];
  readonly intervalMicroseconds: number;
  readonly timeoutMicroseconds: number;
  /** Bytes that are no answer have been given up so long after the last of them; 0: at once. */
  readonly silenceMicroseconds: number;
  /** Other answers to the last question of a round. */
  readonly zero: Omit<Exchange, 'request'> | null;
  readonly negative: Omit<Exchange, 'request'> | null;
  readonly wrongChecksum: string | null;
  /** The instrument says that it will not, or that the value is not good. */
  readonly doubtful: readonly string[];
  /** Something that a person or a trial asks for, and all that is then said. */
  readonly conversation: {
    readonly ask: (session: DriverSession) => Promise<{ readonly atMicroseconds: number }>;
    readonly exchanges: readonly Omit<Exchange, 'readings'>[];
  } | null;
  readonly simulate: (context: SimulatorContext) => Simulator;
  readonly simulatedReadings: readonly ExpectedReading[];
}

/** `01 04 00` as bytes. */
export const hex = (text: string): string =>
  text
    .split(' ')
    .map((pair) => String.fromCharCode(Number.parseInt(pair, 16)))
    .join('');

const modbusTimes = {
  intervalMicroseconds: 1_000_000,
  timeoutMicroseconds: 500_000,
  silenceMicroseconds: 40_000,
} as const;

const climate = (temperature: number, humidity: number, pressure: number): ExpectedReading[] => [
  { stream: 'temperature', value: temperature },
  { stream: 'humidity', value: humidity },
  { stream: 'pressure', value: pressure },
];

/** By kind and dialect: every registered driver must be here or among the specimens that speak by themselves. */
export const askedSpecimens: Readonly<Record<string, AskedSpecimen>> = {
  'climate modbus-registers': {
    ...modbusTimes,
    settings: {},
    opening: [],
    round: [
      {
        request: hex('01 04 00 00 00 03 B0 0B'),
        answer: hex('01 04 06 00 D6 01 9C 27 64 F2 88'),
        readings: climate(21.400000000000002, 41.2, 1008.4000000000001),
      },
    ],
    zero: { answer: hex('01 04 06 00 00 00 00 27 10 7A AF'), readings: climate(0, 0, 1000) },
    negative: { answer: hex('01 04 06 FF CE 00 00 27 10 07 70'), readings: climate(-5, 0, 1000) },
    wrongChecksum: hex('01 04 06 00 D6 01 9C 27 64 F2 89'),
    doubtful: [hex('01 84 02 C2 C1')],
    conversation: null,
    simulate: (context) =>
      createClimateRegisterSimulator(climateRegisterSettingsSchema.parse({}), context, {
        readClimate: () => new Map(Object.entries({ temperature: 20, humidity: 50, pressure: 1000 })),
      }),
    simulatedReadings: climate(20, 50, 1000),
  },
};
