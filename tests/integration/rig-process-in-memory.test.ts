import { describe, expect, it } from 'vitest';
import { scenarios, type TruthSink } from '../../drivers/virtual-rig/index.ts';
import type { Transport } from '../../src/device/transport.ts';
import { createVirtualClock } from '../../src/host/clock/virtual-clock.ts';
import { createInProcessRig } from '../../src/host/rig/in-process-rig.ts';
import type { CableChange } from '../../src/host/rig/running-rig.ts';
import { bytesToText, textToBytes } from '../../src/model/bytes.ts';
import { isChambersideError } from '../../src/model/error-code.ts';

function collect(transport: Transport): { chunks: [number, string][]; closed: string[] } {
  const heard = { chunks: [] as [number, string][], closed: [] as string[] };
  transport.onBytes((bytes, at) => heard.chunks.push([at, bytesToText(bytes)]));
  transport.onClose((reason) => heard.closed.push(reason));
  return heard;
}

function codeOf(action: () => unknown): string | undefined {
  try {
    action();
  } catch (error) {
    return isChambersideError(error) ? error.code : String(error);
  }
  return undefined;
}

/** Five seconds of the rig at a speed: everything that came over every wire, and the truth. */
async function fiveSeconds(speed: number): Promise<{ wires: Record<string, [number, string][]>; truth: string }> {
  const clock = createVirtualClock(1_000_000);
  const truth: Uint8Array[] = [];
  const sink: TruthSink = { append: (bytes) => truth.push(bytes.slice()) };
  const rig = createInProcessRig({ scenario: scenarios.short, seed: 11, clock, truth: sink });
  expect(rig.monotonicOriginMicroseconds).toBe(1_000_000);
  const heard = rig.rig.instruments.map(({ instrument }) => {
    const transport = rig.connect(instrument);
    return { instrument, transport, ...collect(transport) };
  });
  const valve = heard.find((entry) => entry.instrument === rig.rig.selectorValve);
  clock.after(700_000, () => valve?.transport.write(textToBytes('port 2\n')));
  clock.after(900_000, () => rig.cue({ cue: 'enter', exercise: null }));
  expect(await clock.run({ until: 6_000_000, speed })).toBe('reached');
  await rig.stop();
  // Nothing is left that could still happen.
  expect(await clock.run()).toBe('exhausted');
  expect(clock.now()).toBe(6_000_000);
  expect(heard.map((entry) => entry.closed)).toEqual(heard.map(() => ['the virtual rig was stopped']));
  return {
    wires: Object.fromEntries(heard.map((entry) => [entry.instrument, entry.chunks])),
    truth: Buffer.concat(truth).toString('hex'),
  };
}

describe('virtual rig in this process', () => {
  it('says the same bytes at the same times whatever the speed', async () => {
    const reference = await fiveSeconds(Number.POSITIVE_INFINITY);
    expect(reference.wires['photometer']?.length).toBeGreaterThan(90);
    expect(reference.wires['selector']?.map(([, text]) => text).join('')).toContain('ok port 2');
    expect(reference.truth.length).toBeGreaterThan(1000);
    expect(await fiveSeconds(20)).toEqual(reference);
  });

  it('pulls and mends cables, under the same or a new name', async () => {
    const clock = createVirtualClock(0);
    const rig = createInProcessRig({ scenario: scenarios.short, seed: 1, clock, truth: null });
    const name = rig.rig.photometer;
    const changes: CableChange[] = [];
    rig.onCable((change) => changes.push(change));
    const first = collect(rig.connect(name));
    await clock.run({ until: 1_000_000 });
    expect(codeOf(() => rig.connect(name))).toBe('port-busy');

    rig.inject({ fault: 'unplug', instrument: name, seconds: 2, newName: true });
    await clock.run({ until: 1_500_000 });
    const soFar = first.chunks.length;
    expect(soFar).toBeGreaterThan(15);
    expect(first.closed).toEqual(['the cable was pulled']);
    expect(codeOf(() => rig.connect(name))).toBe('port-not-found');
    expect(rig.connections.has(name)).toBe(false);

    await clock.run({ until: 3_000_000 });
    expect(rig.connections.get(name)).toEqual({ transport: 'in-process', name: `${name}-2` });
    expect(changes).toEqual([
      { instrument: name, state: 'pulled' },
      { instrument: name, state: 'back', connection: { transport: 'in-process', name: `${name}-2` } },
    ]);
    const transport = await rig.open(name, () => clock.now() - 3_000_000);
    const second = collect(transport);
    await clock.run({ until: 4_000_000 });
    expect(first.chunks).toHaveLength(soFar);
    expect(second.chunks.length).toBeGreaterThan(15);
    expect(second.chunks[0]?.[0]).toBeLessThan(100_000);

    // A program that leaves makes room for the next one.
    await transport.close();
    const third = collect(rig.connect(name));
    await clock.run({ until: 5_000_000 });
    expect(third.chunks.length).toBeGreaterThan(15);
    await rig.stop();
  });

  it('knows no other instruments', () => {
    const rig = createInProcessRig({ scenario: scenarios.short, seed: 1, clock: createVirtualClock(0), truth: null });
    expect(codeOf(() => rig.connect('no-such-instrument'))).toBe('port-not-found');
  });
});
