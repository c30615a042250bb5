import { describe, expect, it } from 'vitest';
import { createHostTime } from '../../../../renderer/app/host-time.ts';

describe('the time of the host in a window', () => {
  it('is not known before the first heartbeat, nor while no rig is open', () => {
    const time = createHostTime();
    expect([time.base, time.at(5)]).toEqual([-1, null]);
    time.heartbeat(1, Number.NaN, 100);
    expect(time.at(200)).toBeNull();
  });

  it('runs as fast as a replay says, and stands when it stands', () => {
    const time = createHostTime();
    time.heartbeat(1, 3_000_000, 100, 30);
    expect(time.at(200)).toBe(3_000_000 + 30 * 100_000);
    time.heartbeat(2, 9_000_000, 300, 0);
    expect(time.at(900)).toBe(9_000_000);
    time.heartbeat(2, 9_000_000, 1_000, 0.5);
    expect(time.at(1_200)).toBe(9_100_000);
  });

  it('goes on between heartbeats', () => {
    const time = createHostTime();
    time.heartbeat(1, 3_000_000, 100);
    expect(time.at(350)).toBe(3_250_000);
  });

  it('believes the quickest of the last heartbeats: delay makes the host look earlier than it is', () => {
    const time = createHostTime();
    const delays = [3, 40, 1, 250, 17];
    delays.forEach((delay, index) => time.heartbeat(1, index * 250_000, index * 250 + delay));
    expect(time.at(2_000)).toBe(1_999_000);
  });

  it('stands still when the host is silent: nothing counts down that nobody knows of', () => {
    const time = createHostTime();
    time.heartbeat(1, 3_000_000, 100);
    expect(time.at(1_600)).toBe(4_250_000);
    expect(time.at(60_000)).toBe(4_250_000);
  });

  it('follows clocks that drift: what is long past no longer counts', () => {
    const time = createHostTime();
    // The host's clock loses 10 ms in each second.
    for (let index = 0; index <= 400; index += 1) time.heartbeat(1, index * 247_500, index * 250);
    expect(Math.abs((time.at(100_000) ?? 0) - 99_000_000)).toBeLessThan(100_001);
  });

  it('lets readings be on their way for as long in a fast replay as live, in the time of people', () => {
    const time = createHostTime();
    time.heartbeat(1, 0, 0);
    expect(time.onTheWayMicroseconds).toBe(0);
    time.heartbeat(2, 0, 0, 60);
    // A third of a second of a person's is 20 s of the trial.
    expect(time.onTheWayMicroseconds).toBeGreaterThan(10_000_000);
    expect(time.onTheWayMicroseconds).toBeLessThan(60_000_000);
    time.heartbeat(3, 0, 0, 0);
    expect(time.onTheWayMicroseconds).toBe(0);
  });

  it('says that the base is another, and forgets the old one', () => {
    const time = createHostTime();
    expect(time.heartbeat(1, 900_000_000, 100)).toBe(true);
    expect(time.heartbeat(1, 900_250_000, 350)).toBe(false);
    expect(time.heartbeat(2, 0, 600)).toBe(true);
    expect(time.at(700)).toBe(100_000);
  });
});
