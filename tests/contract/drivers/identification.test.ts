import { describe, expect, it } from 'vitest';
import { bytesToText, textToBytes } from '../../../src/model/bytes.ts';
import { drivers, parseSettings } from '../../../drivers/registry.ts';
import { askedSpecimens } from './asked-specimens.ts';
import { specimens } from './specimens.ts';
import { createManualClock, createRandom } from './support.ts';

/** Nothing that they say tells them from others, or they say nothing. */
const untold = ['selector-valve relay-board', 'contact control-lines'];

describe.each(drivers.map((manifest) => [`${manifest.kind} ${manifest.dialect}`, manifest] as const))(
  '%s, looked for',
  (name, manifest) => {
    const specimen = specimens[name] ?? askedSpecimens[name];
    const settings = parseSettings(manifest, 'specimen', specimen?.settings ?? {});
    const identification = manifest.identify?.(settings) ?? null;

    it('is recognised by what its simulator says, or says that nothing tells it', () => {
      expect(identification === null).toBe(untold.includes(name));
      if (identification === null || specimen?.simulate == null) return;
      const clock = createManualClock();
      let received = '';
      const simulator = specimen.simulate({
        timers: clock,
        random: createRandom(1),
        send: (bytes) => {
          received += bytesToText(bytes);
        },
      });
      simulator.start();
      if (identification.question !== null) simulator.receive(identification.question);
      expect(identification.limitSeconds).toBeGreaterThan(0);
      expect(identification.limitSeconds).toBeLessThanOrEqual(60);
      clock.advance(identification.limitSeconds * 1_000_000);
      simulator.stop();
      expect(identification.recognise(textToBytes(received))).not.toBeNull();
    });

    it('is not recognised by what others say, and never throws', () => {
      if (identification === null) return;
      const random = createRandom(7);
      const noise = Uint8Array.from({ length: 2000 }, () => Math.floor(random() * 256));
      for (const others of ['', 'hello\nhello\nhello\n', '\r\n\r\n\r\n', 'AT\r\nOK\r\nERROR\r\n']) {
        expect(identification.recognise(textToBytes(others))).toBeNull();
      }
      expect(identification.recognise(noise)).toBeNull();
    });

    it('counts what it sends, at the least', () => {
      const load = manifest.wireLoad?.(settings) ?? null;
      if (load === null) return;
      expect(load.characters).toBeGreaterThan(0);
      expect(load.perSecond).toBeGreaterThan(0);
      // Nothing that is set by default is refused at its own speed.
      expect(load.characters * 10 * load.perSecond).toBeLessThanOrEqual(manifest.serial.baudRate);
    });
  },
);
