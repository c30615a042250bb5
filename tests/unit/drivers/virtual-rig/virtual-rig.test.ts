import { describe, expect, it } from 'vitest';
import type { RigFault, VirtualRig } from '../../../../drivers/virtual-rig/contract.ts';
import { createVirtualRig } from '../../../../drivers/virtual-rig/index.ts';
import type { Scenario } from '../../../../drivers/virtual-rig/scenario.ts';
import { decodeTruth, truthLeakagePercent } from '../../../../drivers/virtual-rig/truth.ts';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { createVirtualClock } from '../../../../src/host/clock/virtual-clock.ts';
import { bytesToText, textToBytes } from '../../../../src/model/bytes.ts';
import { toMicroseconds } from '../../../../src/model/time.ts';
import { joinBytes, mean } from './support.ts';

const origin = 5_000_000;

interface Bench {
  readonly virtual: VirtualRig;
  /** Lines and when they came, s since the rig began. */
  readonly lines: Record<string, { readonly at: number; readonly line: string }[]>;
  readonly cables: { readonly at: number; readonly change: unknown }[];
  readonly truth: Uint8Array[];
  /** Runs to this many seconds after the rig began. */
  runTo(seconds: number): Promise<void>;
  port(port: number): void;
  /** Mean of the readings of an interval; bad lines are left out. */
  reading(from: number, to: number): number;
  /** Runs on until no event is left; only a stopped rig gets there. */
  exhaust(): Promise<string>;
}

function bench(
  scenario: Scenario = demo,
  changes: { seed?: number; startedInside?: { exercise: string | null } } = {},
): Bench {
  const clock = createVirtualClock(origin);
  const truth: Uint8Array[] = [];
  const cables: Bench['cables'] = [];
  const seconds = (): number => (clock.now() - origin) / 1e6;
  const virtual = createVirtualRig({
    scenario,
    seed: changes.seed ?? 3,
    clock,
    truth: { append: (bytes) => void truth.push(bytes) },
    onCable: (change) => void cables.push({ at: seconds(), change }),
    ...(changes.startedInside === undefined ? {} : { startedInside: changes.startedInside }),
  });
  const lines: Bench['lines'] = {};
  const wires = new Map(
    virtual.rig.instruments.map(({ instrument }) => {
      const kept: { at: number; line: string }[] = [];
      lines[instrument] = kept;
      let pending = '';
      const wire = virtual.connect(instrument, (bytes) => {
        const parts = (pending + bytesToText(bytes)).split(/\r?\n/);
        pending = parts.pop() ?? '';
        for (const line of parts) kept.push({ at: seconds(), line });
      });
      return [instrument, wire] as const;
    }),
  );
  return {
    virtual,
    lines,
    cables,
    truth,
    runTo: async (until) => {
      await clock.run({ until: origin + toMicroseconds(until) });
    },
    port: (port) => wires.get('selector')?.receive(textToBytes(`port ${port}\r\n`)),
    reading: (from, to) =>
      mean(
        (lines['photometer'] ?? [])
          .filter(({ at, line }) => at > from && at <= to && /^conc -?[\d.]+ mg\/m3 ok \*[0-9A-F]{2}$/.test(line))
          .map(({ line }) => Number(line.split(' ')[1])),
      ),
    exhaust: () => clock.run(),
  };
}

describe('virtual rig on its wires', () => {
  it('prints twenty readings and one heart rate a second', async () => {
    const rig = bench();
    await rig.runTo(10);
    expect(rig.lines['photometer']).toHaveLength(200);
    expect(rig.lines['belt']).toHaveLength(10);
    expect(rig.lines['photometer']?.[0]?.at).toBeCloseTo(0.05, 9);
    expect(rig.reading(5, 10)).toBeCloseTo(0.02, 2);
  });

  it('switches ports on command and reads the chamber', async () => {
    const rig = bench();
    await rig.runTo(2);
    rig.port(6);
    await rig.runTo(20);
    expect(rig.lines['selector']?.map(({ line }) => line)).toEqual(['ok port 6']);
    expect(rig.lines['selector']?.[0]?.at).toBeCloseTo(2.2, 9);
    expect(rig.reading(15, 20)).toBeGreaterThan(11);
    expect(rig.reading(15, 20)).toBeLessThan(13);
  });

  it('gives the same bytes and the same truth for the same seed', async () => {
    const play = async (seed: number): Promise<unknown> => {
      const rig = bench(demo, { seed });
      await rig.runTo(3);
      rig.virtual.cue({ cue: 'enter', exercise: null });
      rig.port(5);
      await rig.runTo(4);
      rig.virtual.cue({ cue: 'begin', exercise: 'march' });
      await rig.runTo(25);
      rig.virtual.stop();
      return [rig.lines, joinBytes(rig.truth)];
    };
    expect(await play(3)).toEqual(await play(3));
    expect(await play(3)).not.toEqual(await play(4));
  });

  it('writes truth about once a second, stamped with its clock, and the rest when it stops', async () => {
    const rig = bench(demo, { startedInside: { exercise: 'march' } });
    await rig.runTo(30.02);
    expect(rig.truth).toHaveLength(31);
    await rig.runTo(30.52);
    rig.virtual.stop();
    rig.virtual.stop();
    const truth = decodeTruth(joinBytes(rig.truth));
    expect(truth?.stretches).toHaveLength(1);
    expect(truth?.stretches[0]?.fromMicroseconds).toBe(origin);
    expect(truth?.stretches[0]?.challenge).toHaveLength(610);
    if (truth === null) throw new Error('no truth');
    const ankle = truthLeakagePercent(truth, 'ankle', origin + 10_000_000, origin + 20_000_000);
    expect(ankle).toBeGreaterThan(0.2);
    expect(ankle).toBeLessThan(10);
    expect(await rig.exhaust()).toBe('exhausted');
  });

  it('leaves no timer behind, whatever was going on', async () => {
    const rig = bench({ ...demo, faults: [{ atSeconds: 500, fault: { fault: 'door-opens' } }] });
    await rig.runTo(1);
    rig.virtual.inject({ fault: 'unplug', instrument: 'belt', seconds: 100, newName: true });
    rig.virtual.inject({ fault: 'generator-stops', seconds: 100 });
    rig.virtual.inject({ fault: 'contact-lost', seconds: 100 });
    rig.virtual.inject({ fault: 'valve', behaviour: 'late', seconds: 100 });
    rig.virtual.inject({ fault: 'wire', instrument: 'photometer', wire: { fault: 'garbage', seconds: 100 } });
    rig.port(2);
    await rig.runTo(1.05);
    rig.virtual.stop();
    const { photometer = [], selector = [] } = rig.lines;
    const counted = photometer.length;
    expect(await rig.exhaust()).toBe('exhausted');
    expect(photometer).toHaveLength(counted);
    expect(selector).toHaveLength(0);
    expect(rig.cables).toHaveLength(1);
  });

  it('starts inside with the zones in equilibrium', async () => {
    const rig = bench(demo, { startedInside: { exercise: 'march' } });
    rig.port(5);
    await rig.runTo(30);
    const truth = decodeTruth(joinBytes(rig.truth));
    const first = truth?.stretches[0];
    expect(first?.challenge[0]).toBeGreaterThan(11);
    expect(first?.cells[4]?.[0]).toBeGreaterThan(0.01);
    expect(rig.reading(20, 30)).toBeGreaterThan(0.03);
  });

  it('speaks only to the cable that is connected now', async () => {
    const rig = bench();
    const later: Uint8Array[] = [];
    const wire = rig.virtual.connect('photometer', (bytes) => void later.push(bytes));
    await rig.runTo(1);
    expect(rig.lines['photometer']).toHaveLength(0);
    expect(later).toHaveLength(20);
    wire.disconnect();
    await rig.runTo(2);
    expect(later).toHaveLength(20);
  });

  it('refuses what it does not have', () => {
    const rig = bench();
    expect(() => rig.virtual.connect('toaster', () => undefined)).toThrow(/toaster.*photometer, selector, belt/);
    expect(() => rig.virtual.cue({ cue: 'begin', exercise: null })).toThrow(/names no exercise/);
    // A series of one's own may ask for what no scenario knows.
    expect(() => rig.virtual.cue({ cue: 'begin', exercise: 'swim' })).not.toThrow();
    expect(() => rig.virtual.inject({ fault: 'line-blocked', probe: 'nose', seconds: 1 })).toThrow(/nose/);
    const foreign = {
      ...demo,
      rig: {
        ...demo.rig,
        instruments: demo.rig.instruments.map((entry) =>
          entry.instrument === 'belt' ? { ...entry, dialect: 'smoke-signals' } : entry,
        ),
      },
    };
    expect(() => bench(foreign)).toThrow(/heart-rate and dialect smoke-signals/);
    const mistaken = {
      ...demo,
      rig: {
        ...demo.rig,
        instruments: demo.rig.instruments.map((entry) =>
          entry.instrument === 'photometer' ? { ...entry, settings: { decimalMark: ';' } } : entry,
        ),
      },
    };
    expect(() => bench(mistaken)).toThrow(/decimalMark/);
  });
});

describe('faults', () => {
  /** Runs 10 s well, injects, and runs on to `seconds`. The valve is on the chamber reference from the start. */
  async function broken(fault: RigFault, seconds: number): Promise<Bench> {
    const rig = bench();
    rig.port(6);
    await rig.runTo(10);
    rig.virtual.inject(fault);
    await rig.runTo(seconds);
    return rig;
  }
  const between = (rig: Bench, instrument: string, from: number, to: number): string[] =>
    (rig.lines[instrument] ?? []).filter(({ at }) => at > from && at <= to).map(({ line }) => line);

  it('happen at the seconds that the scenario names', async () => {
    const rig = bench({
      ...demo,
      faults: [
        {
          atSeconds: 4,
          fault: { fault: 'wire', instrument: 'photometer', wire: { fault: 'silence', seconds: 3 } },
        },
      ],
    });
    await rig.runTo(10);
    expect(between(rig, 'photometer', 0, 3.99)).toHaveLength(79);
    expect(between(rig, 'photometer', 4.01, 6.99)).toHaveLength(0);
    expect(between(rig, 'photometer', 7.01, 10)).toHaveLength(60);
  });

  it('pull a cable and put it back', async () => {
    const rig = await broken({ fault: 'unplug', instrument: 'photometer', seconds: 5, newName: true }, 20);
    expect(rig.cables).toEqual([
      { at: 10, change: { instrument: 'photometer', state: 'pulled', newName: true } },
      { at: 15, change: { instrument: 'photometer', state: 'back', newName: true } },
    ]);
    expect(between(rig, 'photometer', 10, 14.99)).toHaveLength(0);
    expect(between(rig, 'photometer', 15, 20).length).toBeGreaterThan(98);
  });

  it('stop the generator: the challenge decays and comes back', async () => {
    const rig = await broken({ fault: 'generator-stops', seconds: 60 }, 200);
    const before = rig.reading(8, 10);
    expect(rig.reading(68, 70) / before).toBeLessThan(0.6);
    expect(rig.reading(195, 200)).toBeGreaterThan(rig.reading(68, 70) * 1.2);
  });

  it('block a line: flat zero, then well again', async () => {
    const rig = await broken({ fault: 'line-blocked', probe: 'chamber', seconds: 20 }, 50);
    expect(rig.reading(25, 30)).toBeCloseTo(0.02, 2);
    expect(rig.reading(45, 50)).toBeGreaterThan(11);
  });

  it('lose the belt’s contact', async () => {
    const rig = await broken({ fault: 'contact-lost', seconds: 5 }, 30);
    // Bits 1 and 2 of the first byte: 11 contact, 10 none.
    const contact = (line: string): number => (Number.parseInt(line.slice(0, 2), 16) >> 1) & 3;
    expect(between(rig, 'belt', 0, 9.9).every((line) => contact(line) === 3)).toBe(true);
    expect(between(rig, 'belt', 10.1, 14.9).every((line) => contact(line) === 2)).toBe(true);
    expect(between(rig, 'belt', 15.1, 30).every((line) => contact(line) === 3)).toBe(true);
  });

  it.each(['late', 'wrong', 'never'] as const)('make the valve answer %s', async (behaviour) => {
    const rig = await broken({ fault: 'valve', behaviour, seconds: 20 }, 11);
    rig.port(7);
    await rig.runTo(29);
    const answers = (rig.lines['selector'] ?? []).filter(({ at }) => at > 10);
    if (behaviour === 'never') {
      expect(answers).toHaveLength(0);
      expect(rig.reading(25, 29)).toBeGreaterThan(11);
    } else {
      expect(answers).toHaveLength(1);
      if (behaviour === 'late') expect(answers[0]?.at).toBeGreaterThan(14);
      else expect(answers[0]?.line).not.toBe('ok port 7');
    }
  });

  it('open the door, move zero and span', async () => {
    const door = await broken({ fault: 'door-opens' }, 20);
    const calm = bench();
    calm.port(6);
    await calm.runTo(20);
    expect(door.reading(19, 20) / calm.reading(19, 20)).toBeLessThan(0.985);
    expect(door.reading(9, 10)).toBe(calm.reading(9, 10));
    const zero = await broken({ fault: 'zero-jump', percentOfChallenge: 1 }, 20);
    expect(zero.reading(12, 20) - calm.reading(12, 20)).toBeCloseTo(0.12, 3);
    const span = await broken({ fault: 'span-jump', percent: -10 }, 20);
    expect((span.reading(12, 20) - 0.02) / (calm.reading(12, 20) - 0.02)).toBeCloseTo(0.9, 2);
  });

  const wireFaults = ['garbage', 'truncated', 'merged', 'wrong-checksum', 'frozen'] as const;
  it.each(wireFaults)('spoil the wire: %s', async (fault) => {
    const rig = await broken({ fault: 'wire', instrument: 'photometer', wire: { fault, seconds: 3 } }, 20);
    expect(between(rig, 'photometer', 0, 10)).toHaveLength(200);
    const spoiled = between(rig, 'photometer', 10, 12.99);
    const sound = spoiled.filter((line) => {
      const [body = '', sum = ''] = line.split('*');
      const xor = textToBytes(body).reduce((kept, byte) => kept ^ byte, 0);
      return Number.parseInt(sum, 16) === xor && line.startsWith('conc ');
    });
    if (fault === 'frozen') expect(new Set(spoiled).size).toBe(1);
    else expect(sound.length).toBeLessThan(50);
    expect(rig.reading(15, 20)).toBeGreaterThan(11);
  });
});
