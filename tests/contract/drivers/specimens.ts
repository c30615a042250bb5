import type { DriverSession } from '../../../src/device/driver.ts';
import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { heartRateSettingsSchema } from '../../../drivers/heart-rate/measurement-hex/manifest.ts';
import { createHeartRateSimulator } from '../../../drivers/heart-rate/measurement-hex/simulator.ts';
import { photometerSettingsSchema } from '../../../drivers/photometer/text-lines/manifest.ts';
import { createPhotometerSimulator } from '../../../drivers/photometer/text-lines/simulator.ts';
import { selectorValveSettingsSchema } from '../../../drivers/selector-valve/command-lines/manifest.ts';
import { createSelectorValveSimulator } from '../../../drivers/selector-valve/command-lines/simulator.ts';

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
  /** The simulated instrument in a simple world, and what its readings then are. */
  readonly simulate: (context: SimulatorContext) => Simulator;
  readonly simulatedReadings: readonly ExpectedReading[];
  readonly simulatedIntervalMicroseconds: number;
}

/** By kind and dialect: every registered driver must be here. */
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
};
