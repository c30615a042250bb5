import { describe, expect, it } from 'vitest';
import { createRequestQueue } from '../../../src/device/request.ts';
import { createTurns } from '../../../src/device/turns.ts';
import { createManualClock, latin1 } from '../../contract/drivers/support.ts';

describe('turns on one line', () => {
  it('are given in the order in which they were asked for, with a rest between them', () => {
    const clock = createManualClock();
    const turns = createTurns(clock);
    const seen: string[] = [];
    const releases: ((rest: number) => void)[] = [];
    for (const name of ['a', 'b', 'c']) {
      turns.take((release) => {
        seen.push(name);
        releases.push(release);
      });
    }
    expect(seen).toEqual(['a']);
    releases[0]?.(500);
    expect(seen).toEqual(['a']);
    clock.advance(499);
    expect(seen).toEqual(['a']);
    clock.advance(1);
    expect(seen).toEqual(['a', 'b']);
    releases[0]?.(0);
    expect(seen).toEqual(['a', 'b']);
    releases[1]?.(0);
    expect(seen).toEqual(['a', 'b', 'c']);
    releases[2]?.(500);
    expect(clock.timerCount).toBe(1);
    turns.end();
    expect(clock.timerCount).toBe(0);
  });

  it('are not given to one who has withdrawn, nor after the end', () => {
    const clock = createManualClock();
    const turns = createTurns(clock);
    const seen: string[] = [];
    let release: ((rest: number) => void) | undefined;
    turns.take((done) => {
      release = done;
    });
    const withdraw = turns.take(() => seen.push('withdrawn'));
    turns.take(() => seen.push('next'));
    withdraw();
    release?.(0);
    expect(seen).toEqual(['next']);
    turns.end();
    turns.take(() => seen.push('late'));
    expect(seen).toEqual(['next']);
  });
});

describe('two queues on one line', () => {
  it('have one request on the wire between them, and the line rests after each', async () => {
    const clock = createManualClock();
    const turns = createTurns(clock);
    const written: string[] = [];
    const queueOf = (instrument: string) =>
      createRequestQueue<string>({
        instrument,
        label: 'bus',
        timers: clock,
        turns,
        restMicroseconds: 5_000,
        write: (bytes) => written.push(Buffer.from(bytes).toString('latin1')),
      });
    const first = queueOf('first');
    const second = queueOf('second');
    const ask = (queue: typeof first, command: string): Promise<string> =>
      queue.ask<string>({
        command,
        bytes: latin1(command),
        judge: (message) =>
          message === command ? { verdict: 'answer', answer: `answer to ${message}` } : { verdict: 'unrelated' },
        timeoutSeconds: 1,
      });
    const a = ask(first, 'a');
    const b = ask(second, 'b');
    const c = ask(first, 'c');
    expect(written).toEqual(['a']);
    expect(second.offer('a', 0)).toEqual({ taken: 'no' });
    first.offer('a', 0);
    expect(written).toEqual(['a']);
    clock.advance(5_000);
    // First come, first served: the other one, not the next of the first.
    expect(written).toEqual(['a', 'b']);
    clock.advance(1_000_000);
    await expect(b).rejects.toMatchObject({ code: 'request-timed-out' });
    clock.advance(5_000);
    expect(written).toEqual(['a', 'b', 'c']);
    first.offer('c', 0);
    expect(await Promise.all([a, c])).toEqual(['answer to a', 'answer to c']);
  });

  it('do not wait for one that has ended, nor for a request that was withdrawn', async () => {
    const clock = createManualClock();
    const turns = createTurns(clock);
    const written: string[] = [];
    const queueOf = (instrument: string) =>
      createRequestQueue<string>({
        instrument,
        label: 'bus',
        timers: clock,
        turns,
        write: (bytes) => written.push(Buffer.from(bytes).toString('latin1')),
      });
    const [first, second, third] = [queueOf('first'), queueOf('second'), queueOf('third')];
    const ask = (queue: typeof first, command: string, cancellation?: AbortSignal): Promise<string> =>
      queue
        .ask<string>({
          command,
          bytes: latin1(command),
          judge: () => ({ verdict: 'answer', answer: 'yes' }),
          timeoutSeconds: 1,
          cancellation,
        })
        .catch((error: unknown) => (error as { code: string }).code);
    const a = ask(first, 'a');
    const withdrawal = new AbortController();
    const b = ask(second, 'b', withdrawal.signal);
    const c = ask(third, 'c');
    withdrawal.abort();
    expect(await b).toBe('request-cancelled');
    first.end('pulled out');
    expect(await a).toBe('transport-closed');
    expect(written).toEqual(['a', 'c']);
    third.offer('x', 0);
    expect(await c).toBe('yes');
  });
});
