import { describe, expect, it } from 'vitest';
import { decodeFrame } from '../../../../src/bridge/frame.ts';
import type { SampleFrame } from '../../../../src/bridge/frame.ts';
import { initialCredit } from '../../../../src/bridge/samples.ts';
import type { SampleMessage } from '../../../../src/bridge/samples.ts';
import { createSampleHub } from '../../../../src/host/samples/sample-hub.ts';
import type { SampleHub, TimeBase } from '../../../../src/host/samples/sample-hub.ts';
import type { ThinnedSamples } from '../../../../src/host/samples/thin.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';
import type { FakeClock } from '../../../support/fake-clock.ts';

const second = 1_000_000;

class Window {
  readonly frames: SampleFrame[] = [];
  waiting = 0;
  readonly #channel;

  constructor(hub: SampleHub) {
    this.#channel = hub.open(
      (bytes) => {
        const frame = decodeFrame(bytes);
        if (frame === null) throw new Error('no frame');
        this.frames.push(frame);
      },
      () => this.waiting,
    );
  }

  send(message: SampleMessage): void {
    this.#channel.receive(message);
  }

  of(kind: SampleFrame['kind']): SampleFrame[] {
    return this.frames.filter((frame) => frame.kind === kind);
  }

  values(kind: 'live' | 'history'): number[] {
    return this.of(kind).flatMap(({ values }) => [...values]);
  }
}

interface Bench {
  readonly clock: FakeClock;
  readonly hub: SampleHub;
  readonly asked: unknown[];
  base(begins: number, recorded?: TimeBase['recorded']): void;
  /** One sample every 10 ms with its number as the value. */
  feed(count: number): Promise<void>;
}

function bench(): Bench {
  const clock = createFakeClock(second);
  const asked: unknown[] = [];
  const hub = createSampleHub({
    clock,
    async readHistory(request) {
      asked.push(request);
      return { times: Float64Array.of(1, 2), values: Float64Array.of(7, 8) };
    },
  });
  hub.begin(2);
  let fed = 0;
  const base: Bench['base'] = (begins, recorded = null) =>
    hub.setBase({
      toBase: (at) => at - begins,
      beginsAtMicroseconds: begins,
      now: () => clock.now() - begins,
      recorded,
    });
  base(clock.now());
  return {
    clock,
    hub,
    asked,
    base,
    async feed(count) {
      for (let index = 0; index < count; index += 1) {
        await clock.advanceTo(clock.now() + 10_000);
        hub.push(0, clock.now(), fed);
        fed += 1;
      }
      await clock.advanceTo(clock.now() + 100_000);
    },
  };
}

const upTo = (count: number): number[] => Array.from({ length: count }, (_, index) => index);
const history = (part: Partial<Extract<SampleMessage, { message: 'history' }>>): SampleMessage => ({
  message: 'history',
  request: 5,
  of: null,
  stream: 0,
  fromMicroseconds: 0,
  toMicroseconds: 1e12,
  mostSamples: 200_000,
  ...part,
});

describe('live samples', () => {
  it('come in order, once, with ascending sequence, to a window that gives its credit back', async () => {
    const { hub, feed } = bench();
    const window = new Window(hub);
    window.send({ message: 'subscribe', streams: [0] });
    for (let round = 0; round < 20; round += 1) {
      await feed(30);
      window.send({ message: 'credit', frames: 7 });
    }
    expect(window.values('live')).toEqual(upTo(600));
    expect(window.of('live').map(({ number }) => number)).toEqual(upTo(window.of('live').length));
    expect(window.of('live').every(({ leftOut }) => leftOut === 0)).toBe(true);
    const times = window.of('live').flatMap((frame) => [...frame.times]);
    expect(times[0]).toBe(10_000);
    expect(times).toEqual([...times].sort((one, other) => one - other));
  });

  it('go out at once after a quiet moment, with what arrived with them, and forty times a second at most', async () => {
    const { hub, clock } = bench();
    const window = new Window(hub);
    window.send({ message: 'subscribe', streams: [0, 1] });
    await clock.advanceTo(clock.now() + second);
    const at = clock.now();
    hub.push(0, at, 1);
    hub.push(1, at, 2);
    expect(window.of('live')).toEqual([]);
    await clock.advanceTo(at);
    expect(window.of('live').map(({ stream }) => stream)).toEqual([0, 1]);
    window.send({ message: 'credit', frames: 2 });
    for (let index = 0; index < 200; index += 1) {
      await clock.advanceTo(clock.now() + 5_000);
      hub.push(0, clock.now(), index);
      window.send({ message: 'credit', frames: 1 });
    }
    expect(window.of('live').length - 2).toBeLessThanOrEqual(40);
    expect(window.of('live').length - 2).toBeGreaterThan(35);
  });

  it('stop without credit, and say afterwards how many were left out', async () => {
    const { hub, feed } = bench();
    const window = new Window(hub);
    window.send({ message: 'subscribe', streams: [0] });
    await feed(5000);
    expect(window.of('live')).toHaveLength(initialCredit);
    const seen = window.values('live').length;
    window.send({ message: 'credit', frames: 1 });
    const last = window.of('live').at(-1);
    expect(last?.leftOut).toBe(5000 - seen - 2000);
    expect(last?.values.at(-1)).toBe(4999);
    expect(last?.number).toBe(initialCredit);
  });

  it('never take more credit than was sent, whatever the window claims', async () => {
    const { hub, feed } = bench();
    const window = new Window(hub);
    window.send({ message: 'credit', frames: 1000 });
    window.send({ message: 'subscribe', streams: [0] });
    await feed(1000);
    expect(window.of('live')).toHaveLength(initialCredit);
  });

  it('begin with the subscription, and ignore streams that are none', async () => {
    const { hub, feed } = bench();
    const window = new Window(hub);
    await feed(10);
    window.send({ message: 'subscribe', streams: [0, 63] });
    await feed(3);
    expect(window.values('live')).toEqual([10, 11, 12]);
    window.send({ message: 'subscribe', streams: [1] });
    await feed(3);
    expect(window.values('live')).toEqual([10, 11, 12]);
  });

  it('leave the door alone that holds back too much, and at last its heartbeats as well', async () => {
    const { hub, feed, clock } = bench();
    const window = new Window(hub);
    window.send({ message: 'subscribe', streams: [0] });
    window.waiting = 1024 * 1024;
    const before = window.of('heartbeat').length;
    await feed(100);
    expect(window.of('live')).toEqual([]);
    expect(window.of('heartbeat').length).toBeGreaterThan(before + 3);
    window.waiting = 4 * 1024 * 1024;
    const silent = window.frames.length;
    await clock.advanceTo(clock.now() + 5 * second);
    expect(window.frames).toHaveLength(silent);
  });
});

describe('heartbeats', () => {
  it('come four times a second with the time of the base, and not a number while there is none', async () => {
    const { hub, clock } = bench();
    const window = new Window(hub);
    await clock.advanceTo(3 * second);
    const beats = window.of('heartbeat');
    expect(beats.length).toBe(9);
    expect(beats.map(({ number }) => number)).toEqual(upTo(9).map((index) => index + 1));
    expect(beats.at(-1)?.startMicroseconds).toBe(2 * second);
    hub.setBase(null);
    expect(window.of('heartbeat').at(-1)?.startMicroseconds).toBeNaN();
  });

  it('announce a new base before anything that lies on it', async () => {
    const { hub, clock, feed, base } = bench();
    const window = new Window(hub);
    window.send({ message: 'subscribe', streams: [0] });
    await feed(20);
    window.send({ message: 'credit', frames: initialCredit });
    const old = window.of('heartbeat').at(-1)?.stream;
    base(clock.now());
    const index = window.frames.length - 1;
    expect(window.frames[index]?.kind).toBe('heartbeat');
    expect(window.frames[index]?.stream).not.toBe(old);
    await feed(5);
    const after = window.frames.slice(index).filter(({ kind }) => kind === 'live');
    expect(after.flatMap(({ values }) => [...values])).toEqual([20, 21, 22, 23, 24]);
    expect(after[0]?.times[0]).toBe(10_000);
    expect(after[0]?.leftOut).toBe(0);
  });
});

describe('history', () => {
  it('of the open rig comes from memory, thinned, and ends', async () => {
    const { hub, clock, feed } = bench();
    await feed(1000);
    const window = new Window(hub);
    window.send(history({ mostSamples: 100 }));
    await clock.advanceTo(clock.now() + second);
    expect(window.values('history')).toHaveLength(100);
    expect(window.of('history-end')).toMatchObject([{ number: 5, stream: 0 }]);
    window.send(history({ request: 6, fromMicroseconds: 20_000, toMicroseconds: 40_000 }));
    await clock.advanceTo(clock.now() + second);
    expect(window.of('history').at(-1)).toMatchObject({ number: 6, values: Float64Array.of(1, 2) });
  });

  it('of the trial under way is joined from disk and memory without a seam', async () => {
    const { hub, clock, feed, base } = bench();
    const asked: unknown[] = [];
    const begins = clock.now();
    // As if the first part had moved out of memory: the disk has what is before the oldest sample.
    const onDisk: ThinnedSamples = { times: Float64Array.of(1, 2, 3), values: Float64Array.of(-3, -2, -1) };
    base(begins, {
      file: 'study',
      trial: 't-000000000001',
      async history(request, toMicroseconds) {
        asked.push([request.fromMicroseconds, toMicroseconds]);
        return onDisk;
      },
    });
    await feed(4);
    const window = new Window(hub);
    window.send(history({}));
    await clock.advanceTo(clock.now() + second);
    expect(asked).toEqual([[0, 10_000]]);
    expect(window.values('history')).toEqual([-3, -2, -1, 0, 1, 2, 3]);
    window.send(history({ of: { file: 'study', trial: 't-000000000001' }, fromMicroseconds: 20_000 }));
    await clock.advanceTo(clock.now() + second);
    expect(asked).toHaveLength(1);
    window.send(history({ of: { file: 'other', trial: 't-000000000002' } }));
    await clock.advanceTo(clock.now() + second);
    expect(window.of('history').at(-1)?.values).toEqual(Float64Array.of(7, 8));
  });

  it('waits for credit and holds nothing meanwhile but the questions, so many at most', async () => {
    const { hub, clock, asked, feed } = bench();
    const window = new Window(hub);
    window.send({ message: 'subscribe', streams: [0] });
    await feed(1000);
    expect(window.of('live')).toHaveLength(initialCredit);
    for (let request = 0; request < 100; request += 1) {
      window.send(history({ request, of: { file: 'other', trial: 't-000000000002' } }));
    }
    await clock.advanceTo(clock.now() + second);
    expect(asked).toEqual([]);
    // Those beyond the limit are answered with nothing at once.
    expect(window.of('history-end')).toHaveLength(100 - 32);
    for (let round = 0; round < 40; round += 1) {
      window.send({ message: 'credit', frames: 2 });
      await clock.advanceTo(clock.now() + 200_000);
    }
    expect(window.of('history-end')).toHaveLength(100);
    expect(asked).toHaveLength(32);
  });

  it('comes whole and once to a window that gives its credit back inside of the sending', async () => {
    const { hub, clock, feed } = bench();
    await feed(20_000);
    const frames: SampleFrame[] = [];
    const channel = hub.open(
      (bytes) => {
        const frame = decodeFrame(bytes);
        if (frame === null) throw new Error('no frame');
        frames.push(frame);
        if (frame.kind === 'history' || frame.kind === 'live') channel.receive({ message: 'credit', frames: 1 });
      },
      () => 0,
    );
    channel.receive({ message: 'subscribe', streams: [0] });
    channel.receive(history({}));
    await feed(50);
    await clock.advanceTo(clock.now() + second);
    const values = frames.filter(({ kind }) => kind === 'history').flatMap((frame) => [...frame.values]);
    expect(values.slice(0, 20_000)).toEqual(upTo(20_000));
    expect(values.length).toBeLessThanOrEqual(20_050);
    expect(frames.filter(({ kind }) => kind === 'history-end')).toHaveLength(1);
  });

  it('that was asked on a base that is over ends without samples', async () => {
    const { hub, clock, feed, base } = bench();
    await feed(100);
    const window = new Window(hub);
    window.send(history({}));
    base(clock.now());
    await clock.advanceTo(clock.now() + second);
    expect(window.of('history')).toEqual([]);
    expect(window.of('history-end')).toMatchObject([{ number: 5 }]);
  });

  it('is over with the window', async () => {
    const { hub, clock, feed } = bench();
    const channel = hub.open(
      () => {
        throw new Error('sent to a window that has gone');
      },
      () => 3e6,
    );
    channel.close();
    await feed(10);
    await clock.advanceTo(clock.now() + second);
    hub.close();
    expect(clock.pending).toBe(0);
  });
});
