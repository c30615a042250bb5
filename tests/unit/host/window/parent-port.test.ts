import { EventEmitter } from 'node:events';
import { describe, expect, it } from 'vitest';
import { parentWindowOpener } from '../../../../src/host/window/parent-port.ts';

class FakePort extends EventEmitter {
  readonly got: unknown[] = [];
  postMessage(message: unknown): void {
    this.got.push(message);
  }
  says(data: unknown): void {
    this.emit('message', { data });
  }
}

function opened(): { port: FakePort; ends: number; opener: ReturnType<typeof parentWindowOpener> } {
  const port = new FakePort();
  const state = { port, ends: 0, opener: parentWindowOpener(port, () => (state.ends += 1)) };
  return state;
}

describe('the window of the desktop program that started this host', () => {
  it('gets an address and has shown it when the program says so', async () => {
    const { port, opener } = opened();
    opener.trialUnderWay?.(true);
    const shown = opener.open('http://127.0.0.1:1/');
    expect(port.got).toEqual(['{"trial":true}', '{"show":"http://127.0.0.1:1/"}']);
    port.says({ not: 'a word' });
    port.says('shown');
    expect(await shown).toBe(true);
    opener.trialUnderWay?.(false);
    expect(port.got.at(-1)).toBe('{"trial":false}');
  });

  it('is none when the program says that it failed, and is tried again the next time', async () => {
    const { port, opener } = opened();
    const first = opener.open('http://127.0.0.1:1/');
    port.says('failed');
    expect(await first).toBe(false);
    const second = opener.open('http://127.0.0.1:2/');
    port.says('shown');
    expect(await second).toBe(true);
  });

  it('hands on the stop key and the wish to end, once each', async () => {
    const state = opened();
    let stops = 0;
    state.opener.onStop?.(() => (stops += 1));
    const shown = state.opener.open('http://127.0.0.1:1/');
    state.port.says('shown');
    await shown;
    state.port.says('stop');
    state.port.says('end');
    expect([stops, state.ends]).toEqual([1, 1]);
    state.opener.close();
    expect(state.port.got.at(-1)).toBe('{"end":true}');
  });
});
