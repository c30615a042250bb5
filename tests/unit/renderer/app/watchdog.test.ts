import { describe, expect, it } from 'vitest';
import { createWatchdog } from '../../../../renderer/app/watchdog.ts';
import { heartbeatMilliseconds, hostLostMilliseconds } from '../../../../src/bridge/samples.ts';

/** Looks every 100 ms, as the worker does, hearing heartbeats as long as `until`. @returns what was said, and when. */
function watch(watchdog: ReturnType<typeof createWatchdog>, from: number, to: number, heardUntil: number): string[] {
  const said: string[] = [];
  for (let at = from; at <= to; at += 50) {
    if (at <= heardUntil && at % heartbeatMilliseconds === 0) watchdog.heard('alive', at);
    if (at % 100 !== 0) continue;
    const changed = watchdog.look(at);
    if (changed !== null) said.push(`${changed} at ${at}`);
  }
  return said;
}

function connected(): ReturnType<typeof createWatchdog> {
  const watchdog = createWatchdog(0);
  watchdog.heard('control-open', 0);
  return watchdog;
}

describe('the watchdog of a window', () => {
  it('says nothing while the host is heard', () => {
    expect(watch(connected(), 0, 60_000, 60_000)).toEqual([]);
  });

  it('says within two seconds that the host is silent, once', () => {
    expect(watch(connected(), 0, 20_000, 5_000)).toEqual(['lost at 6300']);
    expect(6_300 - 5_000).toBeLessThan(2_000);
  });

  it('says that the host is back with its next message', () => {
    const watchdog = connected();
    watch(watchdog, 0, 8_000, 5_000);
    watchdog.heard('alive', 8_010);
    expect(watchdog.look(8_010)).toBe('back');
  });

  it('takes samples without a control channel for no contact: the snapshot is old and stop would not arrive', () => {
    const watchdog = connected();
    watchdog.heard('control-closed', 1_000);
    expect(watch(watchdog, 1_000, 10_000, 10_000)).toEqual(['lost at 2300']);
    expect(2_300 - 1_000).toBeLessThan(hostLostMilliseconds + 101);
    watchdog.heard('control-open', 10_000);
    expect(watchdog.look(10_000)).toBe('back');
  });

  it('counts from the first closing when every attempt to come back fails', () => {
    const watchdog = connected();
    for (const at of [1_000, 1_500, 2_000, 2_400]) watchdog.heard('control-closed', at);
    expect(watchdog.look(2_500)).toBe('lost');
  });

  it('lets a control channel come back in time without a word', () => {
    const watchdog = connected();
    watchdog.heard('control-closed', 1_000);
    watchdog.heard('control-open', 1_400);
    expect(watch(watchdog, 1_400, 10_000, 10_000)).toEqual([]);
  });

  it('says that a host is lost which never came', () => {
    expect(watch(createWatchdog(0), 0, 5_000, -1)).toEqual(['lost at 1300']);
  });
});
