import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createRequestQueue } from '../../../src/device/request.ts';
import type { Request, RequestQueue } from '../../../src/device/request.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { createManualClock, latin1, settlePromises } from '../../contract/drivers/support.ts';

/** A request for a number, answered by that number; `no` refuses, any other number is unexpected. */
function want(number: number, extra: Partial<Request<string, string>> = {}): Request<string, string> {
  return {
    command: `get ${number}`,
    bytes: latin1(`get ${number}\n`),
    judge(message) {
      if (message === 'no') return { verdict: 'refused', detail: 'not today' };
      if (!/^[0-9]+$/.test(message)) return { verdict: 'unrelated' };
      return message === String(number)
        ? { verdict: 'answer', answer: `got ${message}` }
        : { verdict: 'unexpected', detail: `it said ${message}` };
    },
    timeoutSeconds: 2,
    ...extra,
  };
}

function bench() {
  const clock = createManualClock();
  const written: string[] = [];
  let onWrite: (() => void) | undefined;
  const queue: RequestQueue<string> = createRequestQueue<string>({
    instrument: 'lathe',
    label: 'cable 7',
    timers: clock,
    write(bytes) {
      written.push(Buffer.from(bytes).toString('latin1').trim());
      onWrite?.();
    },
  });
  const outcome = (promise: Promise<string>): Promise<unknown> => promise.catch((error: unknown) => error);
  return {
    clock,
    queue,
    written,
    outcome,
    whenWriting: (listener: () => void) => {
      onWrite = listener;
    },
  };
}

const codeOf = (outcome: unknown): string =>
  isChambersideError(outcome) ? outcome.code : `no error: ${String(outcome)}`;

describe('request queue', () => {
  it('has one request on the wire at a time, in order', async () => {
    const { queue, written, clock } = bench();
    const answers = [queue.ask(want(1)), queue.ask(want(2)), queue.ask(want(3))];
    expect(written).toEqual(['get 1']);
    expect(queue.pendingCount).toBe(3);
    expect(clock.timerCount).toBe(1);
    for (const number of [1, 2, 3]) expect(queue.offer(String(number), 10)).toEqual({ taken: 'settled' });
    expect(written).toEqual(['get 1', 'get 2', 'get 3']);
    expect(await Promise.all(answers)).toEqual(['got 1', 'got 2', 'got 3']);
    expect(clock.timerCount).toBe(0);
    expect(queue.pendingCount).toBe(0);
  });

  it('judges before the write is over and starts no timer for what is settled', async () => {
    const { queue, clock, whenWriting } = bench();
    let timersWhileWriting = -1;
    whenWriting(() => {
      timersWhileWriting = clock.timerCount;
      queue.offer('1', 5);
    });
    expect(await queue.ask(want(1))).toBe('got 1');
    expect(timersWhileWriting).toBe(0);
    expect(clock.timerCount).toBe(0);
  });

  it('counts the time-out from the write, not from the asking', async () => {
    const { queue, clock, outcome, written } = bench();
    const first = outcome(queue.ask(want(1)));
    const second = outcome(queue.ask(want(2)));
    clock.advance(2e6 - 1);
    expect(written).toEqual(['get 1']);
    clock.advance(1);
    expect(codeOf(await first)).toBe('request-timed-out');
    expect(written).toEqual(['get 1', 'get 2']);
    clock.advance(2e6 - 1);
    expect(queue.pendingCount).toBe(1);
    clock.advance(1);
    expect(codeOf(await second)).toBe('request-timed-out');
    expect(clock.timerCount).toBe(0);
  });

  it.each([
    ['request-refused', 'no'],
    ['answer-unexpected', '4'],
  ])('settles with %s and goes on with the next', async (code, message) => {
    const { queue, outcome, written, clock } = bench();
    const first = outcome(queue.ask(want(1)));
    const second = queue.ask(want(2));
    queue.offer(message, 1);
    expect(codeOf(await first)).toBe(code);
    expect(written).toEqual(['get 1', 'get 2']);
    queue.offer('2', 2);
    expect(await second).toBe('got 2');
    expect(clock.timerCount).toBe(0);
  });

  it('names instrument, connection and command in every error, and where it was asked', async () => {
    const { queue, clock, outcome } = bench();
    const outcomes: Promise<unknown>[] = [];
    const cancelled = new AbortController();
    outcomes.push(outcome(queue.ask(want(1, { cancellation: cancelled.signal }))));
    cancelled.abort();
    outcomes.push(outcome(queue.ask(want(2))));
    clock.advance(2e6);
    outcomes.push(outcome(queue.ask(want(3))));
    queue.offer('no', 1);
    outcomes.push(outcome(queue.ask(want(4))));
    queue.offer('99', 1);
    outcomes.push(outcome(queue.ask(want(5))));
    queue.end('the plug was pulled');
    outcomes.push(outcome(queue.ask(want(6))));
    const settled = await Promise.all(outcomes);
    expect(settled.map(codeOf)).toEqual([
      'request-cancelled',
      'request-timed-out',
      'request-refused',
      'answer-unexpected',
      'transport-closed',
      'transport-closed',
    ]);
    for (const [index, error] of settled.entries()) {
      expect(String(error)).toContain('lathe');
      expect(String(error)).toContain('cable 7');
      expect(String(error)).toContain(`get ${index + 1}`);
      expect(
        String((error as Error).cause instanceof Error && (error as Error & { cause: Error }).cause.stack),
      ).toContain('request.test.ts');
    }
  });

  it('says that a message is a late answer, and does not hold it against the request on the wire', async () => {
    const { queue, clock, outcome } = bench();
    const first = outcome(queue.ask(want(1)));
    clock.advance(2e6);
    expect(codeOf(await first)).toBe('request-timed-out');
    const second = queue.ask(want(2));
    expect(queue.offer('1', 3)).toEqual({ taken: 'late', command: 'get 1' });
    expect(queue.pendingCount).toBe(1);
    expect(queue.offer('2', 4)).toEqual({ taken: 'settled' });
    expect(await second).toBe('got 2');
    expect(queue.offer('1', 5)).toEqual({ taken: 'no' });
  });

  it('forgets given-up requests after some later answers', async () => {
    const { queue, clock, outcome } = bench();
    void outcome(queue.ask(want(1)));
    clock.advance(2e6);
    for (const number of [2, 3, 4, 5]) {
      const asked = queue.ask(want(number));
      queue.offer(String(number), 1);
      await asked;
    }
    const wrong = outcome(queue.ask(want(6)));
    expect(queue.offer('1', 9)).toEqual({ taken: 'settled' });
    expect(codeOf(await wrong)).toBe('answer-unexpected');
  });

  it('ignores what nobody waits for', () => {
    const { queue } = bench();
    expect(queue.offer('1', 1)).toEqual({ taken: 'no' });
    void queue.ask(want(1)).catch(() => undefined);
    expect(queue.offer('hello', 1)).toEqual({ taken: 'no' });
    expect(queue.pendingCount).toBe(1);
    queue.end('over');
  });

  it('writes nothing for a request withdrawn before its turn, and listens no more to its cancellation', async () => {
    const { queue, written, outcome, clock } = bench();
    let listeners = 0;
    let abort: (() => void) | undefined;
    const cancellation = {
      aborted: false,
      addEventListener: (_type: 'abort', listener: () => void) => {
        listeners += 1;
        abort = listener;
      },
      removeEventListener: () => {
        listeners -= 1;
      },
    };
    const first = queue.ask(want(1));
    const second = outcome(queue.ask(want(2, { cancellation })));
    const third = queue.ask(want(3));
    abort?.();
    expect(codeOf(await second)).toBe('request-cancelled');
    queue.offer('1', 1);
    queue.offer('3', 2);
    expect(await Promise.all([first, third])).toEqual(['got 1', 'got 3']);
    expect(written).toEqual(['get 1', 'get 3']);
    expect(listeners).toBe(0);
    expect(codeOf(await outcome(queue.ask(want(4, { cancellation: { ...cancellation, aborted: true } }))))).toBe(
      'request-cancelled',
    );
    expect(written).toHaveLength(2);
    expect(clock.timerCount).toBe(0);
  });

  it('frees the wire when the request on it is withdrawn', async () => {
    const { queue, written, outcome, clock } = bench();
    const controller = new AbortController();
    const first = outcome(queue.ask(want(1, { cancellation: controller.signal })));
    const second = queue.ask(want(2));
    controller.abort();
    expect(codeOf(await first)).toBe('request-cancelled');
    expect(written).toEqual(['get 1', 'get 2']);
    expect(queue.offer('1', 1)).toEqual({ taken: 'late', command: 'get 1' });
    queue.offer('2', 1);
    expect(await second).toBe('got 2');
    expect(clock.timerCount).toBe(0);
  });

  it('listens to no cancellation any more after the end', async () => {
    const { queue, outcome } = bench();
    let listeners = 0;
    const cancellation = {
      aborted: false,
      addEventListener: () => {
        listeners += 1;
      },
      removeEventListener: () => {
        listeners -= 1;
      },
    };
    const waits = [1, 2, 3].map((number) => outcome(queue.ask(want(number, { cancellation }))));
    expect(listeners).toBe(3);
    queue.end('over');
    for (const settled of await Promise.all(waits)) expect(codeOf(settled)).toBe('transport-closed');
    expect(listeners).toBe(0);
  });

  it('settles all when the connection breaks during a write', async () => {
    const { queue, outcome, clock, whenWriting } = bench();
    whenWriting(() => {
      queue.end('broke while writing');
    });
    expect(codeOf(await outcome(queue.ask(want(1))))).toBe('transport-closed');
    expect(clock.timerCount).toBe(0);
  });

  it('settles a request that cannot be sent, says why, and sends the next', async () => {
    const { queue, outcome, clock, written, whenWriting } = bench();
    whenWriting(() => {
      if (written.at(-1) !== 'get 3') throw new Error('the port has no buffer left');
    });
    const outcomes = [1, 2].map((number) => outcome(queue.ask(want(number))));
    const third = queue.ask(want(3));
    for (const settled of await Promise.all(outcomes)) {
      expect(codeOf(settled)).toBe('port-failed');
      expect(String(settled)).toContain('no buffer left');
    }
    expect(queue.pendingCount).toBe(1);
    queue.offer('3', 1);
    expect(await third).toBe('got 3');
    expect(clock.timerCount).toBe(0);
  });

  it('keeps what settled a request during a write that then fails', async () => {
    const { queue, outcome, clock, whenWriting } = bench();
    whenWriting(() => {
      queue.offer('1', 1);
      throw new Error('too late to matter');
    });
    expect(await queue.ask(want(1))).toBe('got 1');
    whenWriting(() => {
      queue.end('broke while writing');
      throw new Error('and said so');
    });
    expect(codeOf(await outcome(queue.ask(want(2))))).toBe('transport-closed');
    expect(clock.timerCount).toBe(0);
    expect(queue.pendingCount).toBe(0);
  });

  it('settles every wait exactly once and leaves no timer, whatever happens in whatever order', async () => {
    const step = fc.oneof(
      fc.record({ act: fc.constant('ask' as const), number: fc.integer({ min: 0, max: 4 }) }),
      fc.record({ act: fc.constant('offer' as const), number: fc.integer({ min: 0, max: 4 }) }),
      fc.record({ act: fc.constant('cancel' as const), number: fc.nat(10) }),
      fc.record({ act: fc.constant('wait' as const), number: fc.integer({ min: 0, max: 3_000_000 }) }),
      fc.record({ act: fc.constant('refuse' as const), number: fc.constant(0) }),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(step, { maxLength: 40 }), async (steps) => {
        const { queue, clock, written } = bench();
        const controllers: AbortController[] = [];
        const settled: string[] = [];
        for (const { act, number } of steps) {
          if (act === 'ask') {
            const controller = new AbortController();
            controllers.push(controller);
            queue.ask(want(number, { cancellation: controller.signal })).then(
              (answer) => settled.push(answer === `got ${number}` ? 'answered' : 'another answer'),
              (error: unknown) => settled.push(codeOf(error)),
            );
          } else if (act === 'offer') queue.offer(String(number), clock.now());
          else if (act === 'refuse') queue.offer('no', clock.now());
          else if (act === 'cancel') controllers[number]?.abort();
          else clock.advance(number);
          expect(clock.timerCount).toBe(queue.pendingCount > 0 ? 1 : 0);
        }
        queue.end('over');
        await settlePromises();
        expect(settled).toHaveLength(controllers.length);
        expect(settled).not.toContain('another answer');
        expect(written.length).toBeLessThanOrEqual(controllers.length);
        expect(clock.timerCount).toBe(0);
        expect(queue.pendingCount).toBe(0);
      }),
      { numRuns: 200 },
    );
  });
});
