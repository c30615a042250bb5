import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { watchWindows, type WindowWatch } from '../../../../src/host/cli/window-watch.ts';
import { createTestHost, type TestHost } from '../../../support/doors/test-host.ts';

describe('a host without windows', () => {
  let host: TestHost;
  let watch: WindowWatch;
  let told: boolean[];

  beforeEach(() => {
    vi.useFakeTimers();
    host = createTestHost();
    told = [];
    watch = watchWindows(host.host, (trialUnderWay) => void told.push(trialUnderWay), 1_000);
  });

  afterEach(() => {
    watch.stop();
    vi.useRealTimers();
  });

  it('is noticed when the last one has been away for a while, once each time', () => {
    watch.host.windowOpened({ window: 1 });
    watch.host.windowOpened({ window: 2 });
    watch.host.windowClosed({ window: 1 });
    vi.advanceTimersByTime(5_000);
    expect(told).toEqual([]);
    watch.host.windowClosed({ window: 2 });
    vi.advanceTimersByTime(999);
    expect(told).toEqual([]);
    vi.advanceTimersByTime(5_000);
    expect(told).toEqual([false]);
    watch.host.windowOpened({ window: 3 });
    watch.host.windowClosed({ window: 3 });
    vi.advanceTimersByTime(5_000);
    expect(told).toEqual([false, false]);
    expect(host.windowLog).toEqual(['opened 1', 'opened 2', 'closed 1', 'closed 2', 'opened 3', 'closed 3']);
  });

  it('is not one whose window is loaded again', () => {
    watch.host.windowOpened({ window: 1 });
    watch.host.windowClosed({ window: 1 });
    vi.advanceTimersByTime(500);
    watch.host.windowOpened({ window: 2 });
    vi.advanceTimersByTime(5_000);
    expect(told).toEqual([]);
  });

  it.each([
    ['prepared', true],
    ['running', true],
    ['held', true],
    ['stopped', true],
    ['closed', false],
  ] as const)('says of a trial that is %s: under way %s', (phase, expected) => {
    host.setTrial(phase);
    watch.host.windowOpened({ window: 1 });
    watch.host.windowClosed({ window: 1 });
    vi.advanceTimersByTime(1_000);
    expect(told).toEqual([expected]);
  });

  it('says nothing any more once it was stopped', () => {
    watch.host.windowOpened({ window: 1 });
    watch.host.windowClosed({ window: 1 });
    watch.stop();
    vi.advanceTimersByTime(5_000);
    expect(told).toEqual([]);
  });
});
