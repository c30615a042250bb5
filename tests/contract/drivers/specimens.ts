import type { DriverSession } from '../../../src/device/driver.ts';
import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { breathSettingsSchema } from '../../../drivers/breathing/breath-lines/manifest.ts';
import { createBreathSimulator } from '../../../drivers/breathing/breath-lines/simulator.ts';
import { breathingFlowSettingsSchema } from '../../../drivers/breathing/flow-lines/manifest.ts';
import { createBreathingFlowSimulator } from '../../../drivers/breathing/flow-lines/simulator.ts';
import { climateSettingsSchema } from '../../../drivers/climate/lines/manifest.ts';
import { createClimateSimulator } from '../../../drivers/climate/lines/simulator.ts';
import { contactLineSettingsSchema } from '../../../drivers/contact/lines/manifest.ts';
import { createContactLineSimulator } from '../../../drivers/contact/lines/simulator.ts';
import { ergometerSettingsSchema } from '../../../drivers/ergometer/lines/manifest.ts';
import { createErgometerSimulator } from '../../../drivers/ergometer/lines/simulator.ts';
import { beatSettingsSchema } from '../../../drivers/heart-rate/beat-lines/manifest.ts';
import { createBeatSimulator } from '../../../drivers/heart-rate/beat-lines/simulator.ts';
import { heartRateSettingsSchema } from '../../../drivers/heart-rate/measurement-hex/manifest.ts';
import { createHeartRateSimulator } from '../../../drivers/heart-rate/measurement-hex/simulator.ts';
import { photometerSettingsSchema } from '../../../drivers/photometer/text-lines/manifest.ts';
import { createPhotometerSimulator } from '../../../drivers/photometer/text-lines/simulator.ts';
import { selectorValveSettingsSchema } from '../../../drivers/selector-valve/command-lines/manifest.ts';
import { createSelectorValveSimulator } from '../../../drivers/selector-valve/command-lines/simulator.ts';
import { pressureFlowSettingsSchema } from '../../../drivers/pressure-flow/lines/manifest.ts';
import { createPressureFlowSimulator } from '../../../drivers/pressure-flow/lines/simulator.ts';
import { relayBoardSettingsSchema } from '../../../drivers/selector-valve/relay-board/manifest.ts';
import { createRelayBoardSimulator } from '../../../drivers/selector-valve/relay-board/simulator.ts';
import { treadmillSettingsSchema } from '../../../drivers/treadmill/lines/manifest.ts';
import { createTreadmillSimulator } from '../../../drivers/treadmill/lines/simulator.ts';

export interface ExpectedReading {
  readonly stream: string;
  readonly value: number;
}

/** Bytes that a dialect must understand, written out by hand, never by its own encoder. */
export interface Piece {
  readonly bytes: string;
  readonly readings: readonly ExpectedReading[];
}

/** What the conformance suite needs to know about one dialect. */
export interface Specimen {
  /** As in a rig; the dialect's schema fills in the rest. */
  readonly settings: Readonly<Record<string, unknown>>;
  readonly delimiter: string;
  /** Longest line under these settings, bytes. */
  readonly capBytes: number;
  /** Valid lines that come unasked, with delimiters. Empty for an instrument that only answers. */
  readonly pieces: readonly Piece[];
  /** A line whose value is zero, and one below zero where the quantity allows it. */
  readonly zero: Piece | null;
  readonly negative: Piece | null;
  /** A line that is right but for its checksum; null where there is none. */
  readonly wrongChecksum: string | null;
  /** A request and the bytes that answer it; null where nothing is asked. */
  readonly conversation: {
    readonly ask: (session: DriverSession) => Promise<{ readonly atMicroseconds: number }>;
    readonly request: string;
    readonly answer: string;
    readonly timeoutSeconds: number;
  } | null;
  /** Something that is asked for and never confirmed, and what is then written; where there is such a thing. */
  readonly unconfirmed?: {
    readonly ask: (session: DriverSession) => Promise<unknown>;
    readonly request: string;
  };
  /**
   * The simulated instrument in a simple world, and what its readings then are; null where it sends no bytes, and has a
   * suite of its own.
   */
  readonly simulate: ((context: SimulatorContext) => Simulator) | null;
  readonly simulatedReadings: readonly ExpectedReading[];
  readonly simulatedIntervalMicroseconds: number;
}

const beats = (heartRate: number, interval: number): ExpectedReading[] => [
  { stream: 'heart-rate', value: heartRate },
  { stream: 'rr-interval', value: interval },
];
const breath = (volume: number, frequency: number, ventilation: number): ExpectedReading[] => [
  { stream: 'tidal-volume', value: volume },
  { stream: 'breathing-frequency', value: frequency },
  { stream: 'ventilation', value: ventilation },
];
const suit = (pressure: number, flow: number, carbonDioxide: number): ExpectedReading[] => [
  { stream: 'ensemble-pressure', value: pressure },
  { stream: 'fan-flow', value: flow },
  { stream: 'carbon-dioxide', value: carbonDioxide },
];
const walking = (speed: number, incline: number): ExpectedReading[] => [
  { stream: 'speed', value: speed },
  { stream: 'incline', value: incline },
];
const pedalling = (power: number, cadence: number): ExpectedReading[] => [
  { stream: 'power', value: power },
  { stream: 'cadence', value: cadence },
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

/** By kind and dialect: every registered driver must be here, or among those that are asked. */
export const specimens: Readonly<Record<string, Specimen>> = {
  'photometer text-lines': {
    settings: {},
    delimiter: '\n',
    capBytes: 256,
    pieces: [
      { bytes: 'conc 0.00873 mg/m3 ok *5C\n', readings: [{ stream: 'concentration', value: 0.00873 }] },
      { bytes: 'conc 1.5e1 mg/m3 ok *00\n', readings: [{ stream: 'concentration', value: 15 }] },
      { bytes: 'conc +12.00001 mg/m3 ok *49\n', readings: [{ stream: 'concentration', value: 12.00001 }] },
    ],
    zero: { bytes: 'conc 0.00000 mg/m3 ok *50\n', readings: [{ stream: 'concentration', value: 0 }] },
    negative: { bytes: 'conc -0.00012 mg/m3 ok *7E\n', readings: [{ stream: 'concentration', value: -0.00012 }] },
    wrongChecksum: 'conc 0.00873 mg/m3 ok *5D\n',
    conversation: null,
    simulate: (context) =>
      createPhotometerSimulator(photometerSettingsSchema.parse({}), context, {
        readConcentration: () => 0.0125,
        intervalMicroseconds: 50_000,
      }),
    simulatedReadings: [{ stream: 'concentration', value: 0.0125 }],
    simulatedIntervalMicroseconds: 50_000,
  },
  'selector-valve command-lines': {
    settings: {},
    delimiter: '\n',
    capBytes: 256,
    pieces: [],
    zero: null,
    negative: null,
    wrongChecksum: null,
    conversation: {
      ask: async (session) => {
        if (session.selector === undefined) throw new RangeError('a selector valve must be able to select');
        return session.selector.select(3);
      },
      request: 'port 3\n',
      answer: 'ok port 3\n',
      timeoutSeconds: 3,
    },
    simulate: (context) =>
      createSelectorValveSimulator(selectorValveSettingsSchema.parse({}), context, {
        moveTo: () => undefined,
        switchingMicroseconds: 100_000,
        acknowledgeDelayMicroseconds: 20_000,
        startPort: 1,
      }),
    simulatedReadings: [],
    simulatedIntervalMicroseconds: 0,
  },
  'selector-valve relay-board': {
    settings: { ports: 3, answer: 'done {relay}' },
    delimiter: '\n',
    capBytes: 256,
    pieces: [],
    zero: null,
    negative: null,
    wrongChecksum: null,
    conversation: null,
    unconfirmed: {
      ask: async (session) => session.selector?.select(2),
      request: 'relay 1 off\nrelay 3 off\nrelay 2 on\n',
    },
    simulate: (context) =>
      createRelayBoardSimulator(relayBoardSettingsSchema.parse({ ports: 3, answer: 'done {relay}' }), context, {
        moveTo: () => undefined,
        switchingMicroseconds: 100_000,
        startPort: 1,
      }),
    simulatedReadings: [],
    simulatedIntervalMicroseconds: 0,
  },
  'heart-rate measurement-hex': {
    settings: {},
    delimiter: '\n',
    capBytes: 256,
    pieces: [
      {
        bytes: '16 48 58 03\n',
        readings: [
          { stream: 'heart-rate', value: 72 },
          { stream: 'rr-interval', value: 835.9375 },
        ],
      },
      { bytes: '064b\n', readings: [{ stream: 'heart-rate', value: 75 }] },
      {
        bytes: '1E 60 10 00 80 02 76 02\n',
        readings: [
          { stream: 'heart-rate', value: 96 },
          { stream: 'rr-interval', value: 625 },
          { stream: 'rr-interval', value: 615.234375 },
          { stream: 'energy', value: 16 },
        ],
      },
    ],
    zero: { bytes: '00 00\n', readings: [{ stream: 'heart-rate', value: 0 }] },
    negative: null,
    wrongChecksum: null,
    conversation: null,
    simulate: (context) =>
      createHeartRateSimulator(heartRateSettingsSchema.parse({}), context, {
        heartRate: () => 80,
        takeRrIntervals: () => [750],
        contact: () => true,
        intervalMicroseconds: 1_000_000,
      }),
    simulatedReadings: [
      { stream: 'heart-rate', value: 80 },
      { stream: 'rr-interval', value: 750 },
    ],
    simulatedIntervalMicroseconds: 1_000_000,
  },
  'heart-rate beat-lines': {
    settings: { averageBeats: 1 },
    delimiter: '\n',
    capBytes: 256,
    pieces: [
      { bytes: '800\n', readings: beats(75, 800) },
      { bytes: '1000\r\n', readings: beats(60, 1000) },
      { bytes: '600.0\n', readings: beats(100, 600) },
    ],
    // No heart of anybody: the interval is kept and makes no heart rate.
    zero: { bytes: '0\n', readings: [{ stream: 'rr-interval', value: 0 }] },
    negative: null,
    wrongChecksum: null,
    conversation: null,
    simulate: (context) =>
      createBeatSimulator(beatSettingsSchema.parse({}), context, { nextInterval: () => 800 }),
    simulatedReadings: beats(75, 800),
    simulatedIntervalMicroseconds: 800_000,
  },
  'breathing flow-lines': {
    settings: {},
    delimiter: '\n',
    capBytes: 256,
    pieces: [
      { bytes: 'q -12.4 *45\n', readings: [{ stream: 'flow', value: -12.4 }] },
      { bytes: 'q 33.5 *6a\r\n', readings: [{ stream: 'flow', value: 33.5 }] },
    ],
    zero: { bytes: 'q 0.0 *5F\n', readings: [{ stream: 'flow', value: 0 }] },
    negative: { bytes: 'q -0.1 *73\n', readings: [{ stream: 'flow', value: -0.1 }] },
    wrongChecksum: 'q -12.4 *46\n',
    conversation: null,
    simulate: (context) =>
      createBreathingFlowSimulator(breathingFlowSettingsSchema.parse({}), context, {
        readFlow: () => 42.5,
        intervalMicroseconds: 10_000,
      }),
    simulatedReadings: [{ stream: 'flow', value: 42.5 }],
    simulatedIntervalMicroseconds: 10_000,
  },
  'breathing breath-lines': {
    // Less than the length of a fault in the suite.
    settings: { silenceLimitSeconds: 8 },
    delimiter: '\n',
    capBytes: 256,
    pieces: [
      { bytes: 'breath 1.520 L 24.0 /min 36.5 L/min *06\n', readings: breath(1.52, 24, 36.5) },
      { bytes: 'breath 0.512 L 12.0 /min 6.1 L/min *34\n', readings: breath(0.512, 12, 6.1) },
    ],
    zero: null,
    negative: null,
    wrongChecksum: 'breath 1.520 L 24.0 /min 36.5 L/min *07\n',
    conversation: null,
    simulate: (context) =>
      createBreathSimulator(breathSettingsSchema.parse({}), context, {
        readBreath: () =>
          new Map(Object.entries({ 'tidal-volume': 1, 'breathing-frequency': 20, ventilation: 20 })),
        intervalMicroseconds: 4_000_000,
      }),
    simulatedReadings: breath(1, 20, 20),
    simulatedIntervalMicroseconds: 4_000_000,
  },
  'pressure-flow lines': {
    settings: {},
    delimiter: '\n',
    capBytes: 256,
    pieces: [
      { bytes: 'suit 152.5 Pa 182.0 L/min 0.85 % ok *19\n', readings: suit(152.5, 182, 0.85) },
      { bytes: 'suit -20.0 Pa 0.0 L/min 0.04 % ok *07\n', readings: suit(-20, 0, 0.04) },
    ],
    zero: { bytes: 'suit 0.0 Pa 0.0 L/min 0.00 % ok *1C\n', readings: suit(0, 0, 0) },
    negative: null,
    wrongChecksum: 'suit 152.5 Pa 182.0 L/min 0.85 % ok *10\n',
    conversation: null,
    simulate: (context) =>
      createPressureFlowSimulator(pressureFlowSettingsSchema.parse({}), context, {
        readPressureFlow: () =>
          new Map(Object.entries({ 'ensemble-pressure': 150, 'fan-flow': 180, 'carbon-dioxide': 1 })),
        intervalMicroseconds: 200_000,
      }),
    simulatedReadings: suit(150, 180, 1),
    simulatedIntervalMicroseconds: 200_000,
  },
  'ergometer lines': {
    settings: {},
    delimiter: '\n',
    capBytes: 256,
    pieces: [{ bytes: 'ergo 120 W 61 /min ok *3D\n', readings: pedalling(120, 61) }],
    zero: { bytes: 'ergo 0 W 0 /min ok *09\n', readings: pedalling(0, 0) },
    negative: null,
    wrongChecksum: 'ergo 120 W 61 /min ok *30\n',
    // Setting its power has tests of its own: this suite asks only what prints nothing by itself.
    conversation: null,
    simulate: (context) =>
      createErgometerSimulator(ergometerSettingsSchema.parse({}), context, {
        readErgometer: () => new Map(Object.entries({ power: 100, cadence: 60 })),
        setPower: () => undefined,
        intervalMicroseconds: 1_000_000,
      }),
    simulatedReadings: pedalling(100, 60),
    simulatedIntervalMicroseconds: 1_000_000,
  },
  'treadmill lines': {
    settings: {},
    delimiter: '\n',
    capBytes: 256,
    pieces: [{ bytes: 'belt 4.8 km/h 2.0 % ok *71\n', readings: walking(4.8, 2) }],
    zero: { bytes: 'belt 0.0 km/h 0.0 % ok *7F\n', readings: walking(0, 0) },
    negative: { bytes: 'belt 4.8 km/h -1.5 % ok *5A\n', readings: walking(4.8, -1.5) },
    wrongChecksum: 'belt 4.8 km/h 2.0 % ok *70\n',
    conversation: null,
    simulate: (context) =>
      createTreadmillSimulator(treadmillSettingsSchema.parse({}), context, {
        readTreadmill: () => new Map(Object.entries({ speed: 5, incline: 1.5 })),
        setSpeed: () => undefined,
        intervalMicroseconds: 1_000_000,
      }),
    simulatedReadings: walking(5, 1.5),
    simulatedIntervalMicroseconds: 1_000_000,
  },
  'contact lines': {
    // Every change counts at once, so that lines of one moment may differ.
    settings: { debounceSeconds: 0 },
    delimiter: '\n',
    capBytes: 256,
    pieces: [
      { bytes: 'contact stop closed door closed *4E\n', readings: contacts(0, 0) },
      { bytes: 'contact stop open door closed *48\r\n', readings: contacts(1, 0) },
      { bytes: 'contact stop closed door open *48\n', readings: contacts(0, 1) },
      { bytes: 'contact stop 1 door 0 *4F\n', readings: contacts(0, 1) },
    ],
    zero: { bytes: 'contact stop closed door closed *4e\n', readings: contacts(0, 0) },
    negative: null,
    wrongChecksum: 'contact stop closed door closed *4F\n',
    // Switching the beacon has tests of its own: this suite asks only what prints nothing by itself.
    conversation: null,
    simulate: (context) =>
      createContactLineSimulator(contactLineSettingsSchema.parse({}), context, {
        setBeacon: () => undefined,
        intervalMicroseconds: 200_000,
      }),
    simulatedReadings: contacts(0, 0),
    simulatedIntervalMicroseconds: 200_000,
  },
  'contact control-lines': {
    // One who listens: looks at the lines as a record holds them.
    settings: { inputs: { stop: 'cts', door: 'dsr' }, intervalSeconds: null, debounceSeconds: 0 },
    delimiter: '\n',
    capBytes: 64,
    pieces: [
      { bytes: 'CTS+ DSR+ DCD- RI?\n', readings: contacts(0, 0) },
      { bytes: 'CTS- DSR+ DCD+ RI-\n', readings: contacts(1, 0) },
      { bytes: 'CTS+ DSR- DCD? RI+\n', readings: contacts(0, 1) },
    ],
    zero: { bytes: 'CTS+ DSR+ DCD+ RI+\n', readings: contacts(0, 0) },
    negative: null,
    wrongChecksum: null,
    conversation: null,
    simulate: null,
    simulatedReadings: [],
    simulatedIntervalMicroseconds: 0,
  },
  'climate lines': {
    settings: {},
    delimiter: '\n',
    capBytes: 256,
    pieces: [
      { bytes: 'climate 21.35 C 41.20 % 1008.4 hPa ok *51\n', readings: climate(21.35, 41.2, 1008.4) },
      { bytes: 'climate -5.00 C 80.00 % 990.0 hPa ok *7E\n', readings: climate(-5, 80, 990) },
    ],
    zero: { bytes: 'climate 0.00 C 0.00 % 1013.2 hPa ok *5F\n', readings: climate(0, 0, 1013.2) },
    negative: null,
    wrongChecksum: 'climate 21.35 C 41.20 % 1008.4 hPa ok *52\n',
    conversation: null,
    simulate: (context) =>
      createClimateSimulator(climateSettingsSchema.parse({}), context, {
        readClimate: () => new Map(Object.entries({ temperature: 20, humidity: 50, pressure: 1000 })),
        intervalMicroseconds: 1_000_000,
      }),
    simulatedReadings: climate(20, 50, 1000),
    simulatedIntervalMicroseconds: 1_000_000,
  },
};
