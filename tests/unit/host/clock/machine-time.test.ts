import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { createMachineTime } from '../../../../src/host/clock/machine-time.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';

const folder = mkdtempSync(join(tmpdir(), 'machine-time-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('the boot clock', () => {
  it.each([
    ['350735.47 234388.90\n', 350_735_470_000],
    ['12 3\n', 12_000_000],
    ['soon\n', null],
    ['', null],
  ])('is read from %j', (text, microseconds) => {
    const path = join(folder, 'uptime');
    writeFileSync(path, text);
    expect(createMachineTime(createFakeClock(), path).bootNow()).toBe(microseconds);
  });

  it('is unknown where the machine does not say', () => {
    expect(createMachineTime(createFakeClock(), join(folder, 'missing')).bootNow()).toBeNull();
  });

  it('goes with the wall clock while nobody sleeps, on a machine that has one', async () => {
    const machine = createMachineTime(createFakeClock());
    const [boot, wall] = [machine.bootNow(), machine.wallNow()];
    expect(boot === null).toBe(!existsSync('/proc/uptime'));
    await new Promise((resolve) => setTimeout(resolve, 300));
    const wallPassed = machine.wallNow() - wall;
    const passed = boot === null ? wallPassed : (machine.bootNow() ?? Number.NaN) - boot;
    expect(Math.abs(passed - wallPassed)).toBeLessThan(200_000);
  });
});
