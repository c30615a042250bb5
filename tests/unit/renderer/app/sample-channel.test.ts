import { beforeEach, describe, expect, it } from 'vitest';
import { createSampleChannel, type SampleChannel } from '../../../../renderer/app/sample-channel.ts';
import { encodeFrame, type FrameKind } from '../../../../src/bridge/frame.ts';
import type { SampleMessage } from '../../../../src/bridge/samples.ts';

let channel: SampleChannel;
let sent: SampleMessage[];
let signs: number;

function frame(kind: FrameKind, stream: number, number: number, times: readonly number[], leftOut = 0): void {
  const values = Float64Array.from(times, (time) => time / 1000);
  const start = times[0] ?? 0;
  const encoded = encodeFrame({
    ...{ kind, stream, number, leftOut, startMicroseconds: start },
    times: Float64Array.from(times),
    values,
  });
  channel.receive(encoded, performance.now());
}

function heartbeat(base: number, microseconds: number): void {
  const none = new Float64Array(0);
  channel.receive(
    encodeFrame({
      ...{ kind: 'heartbeat', stream: base, number: 0, leftOut: 0, startMicroseconds: microseconds },
      times: none,
      values: none,
    }),
    performance.now(),
  );
}

const histories = () => sent.filter((message) => message.message === 'history');
const settled = () => new Promise((resolve) => setTimeout(resolve, 0));

beforeEach(() => {
  sent = [];
  signs = 0;
  channel = createSampleChannel(() => (signs += 1));
  channel.opened((message) => sent.push(message));
});

describe('the sample channel of a window', () => {
  it('subscribes to the streams that are drawn, and to all of them again on a new connection', () => {
    channel.ring(2);
    channel.ring(0);
    channel.ring(2);
    expect(sent.at(-1)).toEqual({ message: 'subscribe', streams: [2, 0] });
    channel.closed();
    sent = [];
    channel.opened((message) => sent.push(message));
    expect(sent[0]).toEqual({ message: 'subscribe', streams: [2, 0] });
  });

  it('asks for nothing that is no stream: the door would end the channel', () => {
    heartbeat(1, 1_000_000);
    sent = [];
    expect(channel.ring(-1).length).toBe(0);
    expect(channel.ring(0.5).length).toBe(0);
    expect(sent).toEqual([]);
  });

  it('takes everything for a sign of life, heartbeats too', () => {
    heartbeat(1, 0);
    frame('live', 0, 1, [1]);
    expect(signs).toBe(2);
  });

  it('gives back one credit for each frame that was put away, none for heartbeats, and once', () => {
    channel.ring(0);
    heartbeat(1, 1_000_000);
    frame('live', 0, 1, [1, 2]);
    frame('live', 7, 1, [1]);
    sent = [];
    channel.giveCredit();
    channel.giveCredit();
    expect(sent).toEqual([{ message: 'credit', frames: 2 }]);
  });

  it('asks for what was left out, and puts it into its place', async () => {
    const ring = channel.ring(0);
    heartbeat(1, 1_000_000);
    frame('live', 0, 1, [1_000, 2_000]);
    sent = [];
    frame('live', 0, 2, [9_000, 10_000], 6);
    const [wanted] = histories();
    expect(wanted).toMatchObject({ stream: 0, fromMicroseconds: 2_000, toMicroseconds: 9_000, of: null });
    frame('live', 0, 3, [11_000]);
    const request = wanted?.request ?? 0;
    frame('history', 0, request, [3_000, 4_000]);
    frame('history', 0, request, [5_000, 8_000]);
    frame('history-end', 0, request, []);
    await settled();
    expect(Array.from({ length: ring.length }, (_, index) => ring.timeAt(index) / 1_000)).toEqual([
      ...[1, 2, 3, 4, 5, 8, 9, 10, 11],
    ]);
  });

  it('forgets readings of another time base, and what was asked for on it', async () => {
    const ring = channel.ring(0);
    heartbeat(1, 500_000_000);
    frame('live', 0, 1, [500_000_000]);
    const wanted = histories();
    heartbeat(2, 0);
    expect(ring.length).toBe(0);
    for (const { request } of wanted) frame('history-end', 0, request, [499_000_000]);
    await settled();
    expect(ring.length).toBe(0);
  });

  it('looks back when the connection comes again', () => {
    channel.ring(3);
    heartbeat(1, 900_000_000);
    channel.closed();
    sent = [];
    channel.opened((message) => sent.push(message));
    expect(histories()).toMatchObject([{ stream: 3, of: null }]);
  });

  it('does not wait for history on a connection that has gone', async () => {
    const wanted = { of: null, stream: 0, fromMicroseconds: 0, toMicroseconds: 10, mostSamples: 100 };
    const asked = channel.history(wanted);
    channel.closed();
    await expect(asked).rejects.toThrow('closed');
    await expect(channel.history(wanted)).rejects.toThrow('closed');
  });

  it('leaves bytes alone that are no frame', () => {
    channel.receive(new Uint8Array([9, 9, 9]), performance.now());
    channel.giveCredit();
    expect(sent.filter(({ message }) => message === 'credit')).toEqual([]);
  });
});
