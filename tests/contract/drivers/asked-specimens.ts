import { climateRegisterSettingsSchema } from '../../../drivers/climate/modbus-registers/manifest.ts';
import { createClimateRegisterSimulator } from '../../../drivers/climate/modbus-registers/simulator.ts';
import { modbusContactSettingsSchema } from '../../../drivers/contact/modbus/manifest.ts';
import { createModbusContactSimulator } from '../../../drivers/contact/modbus/simulator.ts';
import { ergometerRegisterSettingsSchema } from '../../../drivers/ergometer/modbus-registers/manifest.ts';
import { createErgometerRegisterSimulator } from '../../../drivers/ergometer/modbus-registers/simulator.ts';
import { photometerRegisterSettingsSchema } from '../../../drivers/photometer/modbus-registers/manifest.ts';
import { createPhotometerRegisterSimulator } from '../../../drivers/photometer/modbus-registers/simulator.ts';
import { multimeterSettingsSchema } from '../../../drivers/photometer/multimeter-scpi/manifest.ts';
import { createMultimeterSimulator } from '../../../drivers/photometer/multimeter-scpi/simulator.ts';
import { modbusValveSettingsSchema } from '../../../drivers/selector-valve/modbus/manifest.ts';
import { createModbusValveSimulator } from '../../../drivers/selector-valve/modbus/simulator.ts';
import { pressureFlowRegisterSettingsSchema } from '../../../drivers/pressure-flow/modbus-registers/manifest.ts';
import { createPressureFlowRegisterSimulator } from '../../../drivers/pressure-flow/modbus-registers/simulator.ts';
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

const suit = (pressure: number, flow: number, carbonDioxide: number): ExpectedReading[] => [
  { stream: 'ensemble-pressure', value: pressure },
  { stream: 'fan-flow', value: flow },
  { stream: 'carbon-dioxide', value: carbonDioxide },
];
const climate = (temperature: number, humidity: number, pressure: number): ExpectedReading[] => [
  { stream: 'temperature', value: temperature },
  { stream: 'humidity', value: humidity },
  { stream: 'pressure', value: pressure },
];

const contacts = (stop: number, door: number): ExpectedReading[] => [
  { stream: 'stop', value: stop },
  { stream: 'door', value: door },
];

const pedalling = (power: number, cadence: number): ExpectedReading[] => [
  { stream: 'power', value: power },
  { stream: 'cadence', value: cadence },
];

/** By kind and dialect: every registered driver must be here or among the specimens that speak by themselves. */
export const askedSpecimens: Readonly<Record<string, AskedSpecimen>> = {
  'photometer modbus-registers': {
    ...modbusTimes,
    intervalMicroseconds: 100_000,
    // The other defaults; time-out and silence fit into one interval of the suite.
    settings: { timeoutSeconds: 0.08 },
    timeoutMicroseconds: 80_000,
    opening: [],
    round: [
      {
        request: hex('01 04 00 00 00 03 B0 0B'),
        answer: hex('01 04 06 41 48 00 00 00 00 8F 8C'),
        readings: [{ stream: 'concentration', value: 12.5 }],
      },
    ],
    zero: { answer: hex('01 04 06 00 00 00 00 00 00 60 93'), readings: [{ stream: 'concentration', value: 0 }] },
    negative: { answer: hex('01 04 06 BF 00 00 00 00 00 7A 5C'), readings: [{ stream: 'concentration', value: -0.5 }] },
    wrongChecksum: hex('01 04 06 41 48 00 00 00 00 8F 8D'),
    // A status that is not good, a number that is none, a device failure.
    doubtful: [
      hex('01 04 06 41 48 00 00 00 01 4E 4C'),
      hex('01 04 06 7F C0 00 00 00 00 6B 4D'),
      hex('01 84 04 42 C3'),
    ],
    conversation: null,
    simulate: (context) =>
      createPhotometerRegisterSimulator(photometerRegisterSettingsSchema.parse({}), context, {
        readConcentration: () => 0.125,
      }),
    simulatedReadings: [{ stream: 'concentration', value: 0.125 }],
  },
  'photometer multimeter-scpi': {
    settings: { timeoutSeconds: 0.1 },
    intervalMicroseconds: 200_000,
    timeoutMicroseconds: 100_000,
    silenceMicroseconds: 0,
    opening: [
      { request: '*IDN?\n', answer: 'Own works,M-1,0,0\n', readings: [] },
      { request: 'SYST:ERR?\n', answer: '0,"No error"\n', readings: [] },
    ],
    round: [
      {
        request: 'MEAS:VOLT:DC?\n',
        answer: '+1.25000000E+00\r\n',
        readings: [
          { stream: 'concentration', value: 25 },
          { stream: 'voltage', value: 1.25 },
        ],
      },
    ],
    zero: {
      answer: '0\n',
      readings: [
        { stream: 'concentration', value: 0 },
        { stream: 'voltage', value: 0 },
      ],
    },
    negative: {
      answer: '-0.050\n',
      readings: [
        { stream: 'concentration', value: -1 },
        { stream: 'voltage', value: -0.05 },
      ],
    },
    wrongChecksum: null,
    doubtful: ['9.91E37\n', '+9.9E+37\n', '-9.90000000E+37\n'],
    conversation: null,
    simulate: (context) =>
      createMultimeterSimulator(multimeterSettingsSchema.parse({}), context, { readConcentration: () => 50 }),
    simulatedReadings: [
      { stream: 'concentration', value: 50 },
      { stream: 'voltage', value: 2.5 },
    ],
  },
  'selector-valve modbus': {
    ...modbusTimes,
    settings: {},
    opening: [],
    round: [],
    zero: null,
    negative: null,
    wrongChecksum: null,
    doubtful: [],
    conversation: {
      ask: async (session) => {
        if (session.selector === undefined) throw new RangeError('a selector valve must be able to select');
        return session.selector.select(3);
      },
      exchanges: [
        { request: hex('01 06 00 00 00 03 C9 CB'), answer: hex('01 06 00 00 00 03 C9 CB') },
        { request: hex('01 04 00 00 00 01 31 CA'), answer: hex('01 04 02 00 03 F9 31') },
      ],
    },
    simulate: (context) =>
      createModbusValveSimulator(modbusValveSettingsSchema.parse({}), context, {
        moveTo: () => undefined,
        switchingMicroseconds: 100_000,
        startPort: 1,
      }),
    simulatedReadings: [],
  },
  'pressure-flow modbus-registers': {
    ...modbusTimes,
    settings: { timeoutSeconds: 0.15 },
    intervalMicroseconds: 200_000,
    timeoutMicroseconds: 150_000,
    opening: [],
    round: [
      {
        request: hex('01 04 00 00 00 03 B0 0B'),
        answer: hex('01 04 06 00 98 00 B6 00 55 60 96'),
        readings: suit(152, 182, 0.85),
      },
    ],
    zero: { answer: hex('01 04 06 00 00 00 00 00 00 60 93'), readings: suit(0, 0, 0) },
    negative: { answer: hex('01 04 06 FF EC 00 00 00 04 E4 88'), readings: suit(-20, 0, 0.04) },
    wrongChecksum: hex('01 04 06 00 98 00 B6 00 55 60 00'),
    doubtful: [hex('01 84 02 C2 C1')],
    conversation: null,
    simulate: (context) =>
      createPressureFlowRegisterSimulator(pressureFlowRegisterSettingsSchema.parse({}), context, {
        readPressureFlow: () =>
          new Map(Object.entries({ 'ensemble-pressure': 150, 'fan-flow': 180, 'carbon-dioxide': 1 })),
      }),
    simulatedReadings: suit(150, 180, 1),
  },
  'contact modbus': {
    ...modbusTimes,
    settings: { timeoutSeconds: 0.08, debounceSeconds: 0 },
    intervalMicroseconds: 100_000,
    timeoutMicroseconds: 80_000,
    opening: [],
    round: [
      { request: hex('01 02 00 00 00 02 F9 CB'), answer: hex('01 02 01 02 20 49'), readings: contacts(1, 0) },
    ],
    zero: { answer: hex('01 02 01 03 E1 89'), readings: contacts(0, 0) },
    negative: null,
    wrongChecksum: hex('01 02 01 02 20 48'),
    doubtful: [hex('01 82 04 41 63')],
    conversation: null,
    simulate: (context) =>
      createModbusContactSimulator(modbusContactSettingsSchema.parse({}), context, { setBeacon: () => undefined }),
    simulatedReadings: contacts(0, 0),
  },
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
  'ergometer modbus-registers': {
    ...modbusTimes,
    settings: {},
    opening: [],
    round: [
      {
        request: hex('01 04 00 00 00 02 71 CB'),
        answer: hex('01 04 04 00 78 00 3D BA 4C'),
        readings: pedalling(120, 61),
      },
    ],
    zero: { answer: hex('01 04 04 00 00 00 00 FB 84'), readings: pedalling(0, 0) },
    negative: null,
    wrongChecksum: hex('01 04 04 00 78 00 3D BA 4D'),
    doubtful: [hex('01 84 02 C2 C1')],
    conversation: {
      ask: (session) => session.actuator?.set('power', 150) ?? Promise.reject(new Error('it has no power to set')),
      exchanges: [
        { request: hex('01 06 00 00 00 96 09 A4'), answer: hex('01 06 00 00 00 96 09 A4') },
        { request: hex('01 03 00 00 00 01 84 0A'), answer: hex('01 03 02 00 96 38 2A') },
      ],
    },
    simulate: (context) =>
      createErgometerRegisterSimulator(ergometerRegisterSettingsSchema.parse({}), context, {
        readErgometer: () => new Map(Object.entries({ power: 100, cadence: 60 })),
        setPower: () => undefined,
      }),
    simulatedReadings: pedalling(100, 60),
  },
};
