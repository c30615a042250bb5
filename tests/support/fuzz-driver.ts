import { describe, expect, it } from 'vitest';
import type { DriverManifest } from '../../src/device/driver.ts';
import type { LineFramerFactory } from '../../src/device/framing.ts';
import { createReadlineFramer } from '../../src/host/transport/readline-framer.ts';
import { createLineFramer } from '../../drivers/framing/line.ts';
import { drivers, parseSettings } from '../../drivers/registry.ts';
import { askedSpecimens } from '../contract/drivers/asked-specimens.ts';
import { specimens } from '../contract/drivers/specimens.ts';
import { createManualClock, createRandom, createTestCable } from '../contract/drivers/support.ts';
import { latin1, settlePromises } from '../contract/drivers/support.ts';

/** No driver may hold back more bytes than this without saying what they are. */
const mostPendingBytes = 4096;

interface Fuzzed {
  readonly lines: number;
  readonly bytes: number;
  readonly readings: number;
  readonly problems: number;
}

/** What the instrument says when all is well, line by line or answer by answer, and how it is set. */
function said(name: string): { readonly settings: unknown; readonly texts: readonly string[] } {
  const asked = askedSpecimens[name];
  if (asked !== undefined) {
    const exchanges = [...asked.opening, ...asked.round, ...(asked.conversation?.exchanges ?? [])];
    return { settings: asked.settings, texts: exchanges.flatMap(({ answer, request }) => [answer, request]) };
  }
  const specimen = specimens[name];
  if (specimen === undefined) throw new Error(`${name} has no specimen`);
  // A driver that only speaks is fed what it might have been sent by another instrument.
  const texts = specimen.pieces.map(({ bytes }) => bytes);
  return { settings: specimen.settings, texts: texts.length > 0 ? texts : ['ok\r\n', 'conc 0.00873 mg/m3 ok *5C\r\n'] };
}

/**
 * Feeds a driver seeded lines, most of them spoiled: one byte another, cut short, joined to the next, noise of every
 * length, noise without an end, silence in between. Throws as soon as it throws, holds bytes back without bound, gives
 * a value that is no number, or leaves a byte that is neither understood nor a problem.
 */
async function fuzzDriver(
  manifest: DriverManifest,
  framer: LineFramerFactory,
  lines: number,
  seed: number,
): Promise<Fuzzed> {
  const { settings, texts } = said(`${manifest.kind} ${manifest.dialect}`);
  const random = createRandom(seed);
  const upTo = (count: number): number => Math.floor(random() * count);
  const known = texts.map(latin1);
  const one = (): Uint8Array => known[upTo(known.length)] as Uint8Array;
  const noise = (length: number): Uint8Array => Uint8Array.from({ length }, () => upTo(256));
  const spoil = (): Uint8Array => {
    const text = one();
    switch (upTo(8)) {
      case 0:
        return text;
      case 1:
        return text.slice(0, upTo(text.length + 1));
      case 2:
        return Uint8Array.of(...text.slice(upTo(text.length)), ...one());
      case 3:
        return noise(upTo(80));
      case 4:
        return upTo(200) === 0 ? noise(3 * mostPendingBytes) : noise(1 + upTo(4));
      default: {
        const changed = text.slice();
        for (let times = 1 + upTo(3); times > 0; times -= 1) changed[upTo(changed.length)] = upTo(256);
        return changed;
      }
    }
  };

  const clock = createManualClock();
  const cable = createTestCable();
  let [readings, problems, accounted] = [0, 0, 0];
  const session = manifest.open({
    instrument: 'fuzzed',
    settings: parseSettings(manifest, 'fuzzed', settings),
    transport: { ...cable, label: 'fuzzed', write: () => undefined },
    timers: clock,
    lines: framer,
    sink: {
      reading(stream, value) {
        readings += 1;
        if (!Number.isFinite(value)) expect.unreachable(`${stream} is ${value}`);
      },
      problem(code, _detail, byteCount) {
        problems += 1;
        accounted += byteCount;
        if (!(byteCount >= 0)) expect.unreachable(`${code} accounts for ${byteCount} bytes`);
      },
      understood(byteCount) {
        accounted += byteCount;
      },
    },
    openedAtMicroseconds: 0,
  });
  for (let line = 0; line < lines; line += 1) {
    cable.arrive(spoil(), clock.now());
    const pending = cable.arrivedBytes - session.accountedBytes;
    if (pending < 0 || pending > mostPendingBytes) expect.unreachable(`${pending} bytes are held back at line ${line}`);
    clock.advance(upTo(20) === 0 ? upTo(3_000_000) : upTo(20_000));
    if (line % 50 === 0) await settlePromises();
  }
  session.end();
  await settlePromises();
  expect(session.accountedBytes).toBe(cable.arrivedBytes);
  expect(accounted).toBeLessThanOrEqual(cable.arrivedBytes);
  expect(clock.timerCount).toBe(0);
  return { lines, bytes: cable.arrivedBytes, readings, problems };
}

/** The test of every registered driver. @param lines for each of them, half of it through each of the two framers. */
export function mostlySpoiled(lines: number): void {
  describe('lines that are mostly spoiled', () => {
    it.each(drivers.map((manifest) => [`${manifest.kind} ${manifest.dialect}`, manifest] as const))(
      'are readings or problems to the last byte, the same through both framers: %s',
      async (name, manifest) => {
        const before = process.memoryUsage().heapUsed;
        const seed = 1 + drivers.indexOf(manifest);
        const fuzzed = await fuzzDriver(manifest, createLineFramer, lines / 2, seed);
        expect(await fuzzDriver(manifest, createReadlineFramer, lines / 2, seed)).toEqual(fuzzed);
        const grown = (process.memoryUsage().heapUsed - before) / 1e6;
        const { bytes, problems, readings } = fuzzed;
        console.log(`${name}: twice ${fuzzed.lines} lines, ${bytes} bytes, ${readings} readings, ${problems} problems`);
        expect(problems).toBeGreaterThan(lines / 40);
        if (manifest.kind !== 'selector-valve') expect(readings).toBeGreaterThan(lines / 200);
        // Whatever is kept of lines that are done with is megabytes by now; garbage not collected yet is allowed for.
        expect(grown).toBeLessThan(150);
      },
    );
  });
}
