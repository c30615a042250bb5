import type { DriverManifest, DriverSession } from '../../../src/device/driver.ts';
import type { LineFramerFactory } from '../../../src/device/framing.ts';
import { createReadlineFramer } from '../../../src/host/transport/readline-framer.ts';
import { createLineFramer } from '../../../drivers/framing/line.ts';
import { drivers, parseSettings } from '../../../drivers/registry.ts';
import type { Specimen } from './specimens.ts';
import { createManualClock, createRecordingSink, createTestCable } from './support.ts';
import type { ManualClock, RecordingSink, TestCable } from './support.ts';

/** A driver opened on a cable whose other end the test holds, under a clock that the test moves. */
export interface Bench {
  readonly clock: ManualClock;
  readonly cable: TestCable;
  readonly sink: RecordingSink;
  readonly session: DriverSession;
}

/** @param prepare is called before the driver is opened. */
export function openBench(
  manifest: DriverManifest,
  specimen: Pick<Specimen, 'settings'>,
  lines: LineFramerFactory,
  prepare?: (cable: TestCable, clock: ManualClock) => void,
): Bench {
  const clock = createManualClock();
  const cable = createTestCable();
  prepare?.(cable, clock);
  const sink = createRecordingSink();
  const session = manifest.open({
    instrument: 'specimen',
    settings: parseSettings(manifest, 'specimen', specimen.settings),
    transport: cable,
    timers: clock,
    lines,
    sink,
    openedAtMicroseconds: 0,
  });
  return { clock, cable, sink, session };
}

const framers: readonly (readonly [string, LineFramerFactory])[] = [
  ['pure framer', createLineFramer],
  ['framer at the host’s edge', createReadlineFramer],
];
/** A driver under one framer: how it is called, the framer's name, its manifest, the framer. */
export type Subject = readonly [name: string, framer: string, manifest: DriverManifest, lines: LineFramerFactory];

/** A driver with each implementation of the framer. */
export const withFramers = (manifest: DriverManifest): Subject[] =>
  framers.map(([framer, lines]) => [`${manifest.kind} ${manifest.dialect}`, framer, manifest, lines]);

/** Every registered driver, with each implementation of the framer. */
export const subjects: readonly Subject[] = drivers.flatMap(withFramers);
