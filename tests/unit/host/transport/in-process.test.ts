import { describe, expect, it } from 'vitest';
import { createVirtualClock } from '../../../../src/host/clock/virtual-clock.ts';
import { createInProcessPair } from '../../../../src/host/transport/in-process.ts';

describe('in-process transport on a virtual clock', () => {
  it('delivers nothing inside the call, then in order, after the latency, stamped on arrival', async () => {
    const clock = createVirtualClock(1000);
    const { program, instrument } = createInProcessPair('valve', clock, { latencyMicroseconds: 250 });
    const log: string[] = [];
    program.onBytes((bytes, at) => log.push(`program ${bytes.join()} at ${at}`));
    instrument.onBytes((bytes) => {
      log.push(`instrument ${bytes.join()} at ${clock.now()}`);
      instrument.send(Uint8Array.of(100 + (bytes[0] ?? 0)));
    });
    program.write(Uint8Array.of(1));
    program.write(Uint8Array.of(2));
    expect(log).toEqual([]);
    await clock.run();
    expect(log).toEqual([
      'instrument 1 at 1250',
      'instrument 2 at 1250',
      'program 101 at 1500',
      'program 102 at 1500',
    ]);
  });

  it('stamps with the program’s own time where it differs from the rig’s', async () => {
    const clock = createVirtualClock(5_000_000);
    const { program, instrument } = createInProcessPair('belt', clock, { now: () => clock.now() - 5_000_000 });
    const stamps: number[] = [];
    program.onBytes((_, at) => stamps.push(at));
    clock.at(5_000_700, () => instrument.send(Uint8Array.of(1)));
    await clock.run();
    expect(stamps).toEqual([700]);
  });

  it('loses what is under way when the cable is pulled, and tells both ends once while the clock stands', async () => {
    const clock = createVirtualClock(0);
    const { program, instrument } = createInProcessPair('belt', clock);
    const log: string[] = [];
    program.onBytes(() => log.push('bytes'));
    program.onClose((reason) => log.push(`program: ${reason}`));
    instrument.onClose((reason) => log.push(`instrument: ${reason}`));
    instrument.send(Uint8Array.of(1));
    instrument.close();
    instrument.close('again');
    expect(log).toEqual([]);
    await program.close();
    await clock.run();
    instrument.send(Uint8Array.of(2));
    program.write(Uint8Array.of(3));
    await clock.run();
    expect(log).toEqual(['program: the cable was pulled', 'instrument: the cable was pulled']);
  });

  it('has told both ends when the program’s close resolves', async () => {
    const clock = createVirtualClock(0);
    const { program, instrument } = createInProcessPair('belt', clock);
    const log: string[] = [];
    instrument.onClose((reason) => log.push(`instrument: ${reason}`));
    program.onClose((reason) => log.push(`program: ${reason}`));
    await program.close();
    await program.close();
    expect(log).toEqual(['program: closed by the program', 'instrument: closed by the program']);
    instrument.onClose((reason) => log.push(`late: ${reason}`));
    await Promise.resolve();
    expect(log.at(-1)).toBe('late: closed by the program');
  });

  it('leaves no event on the clock after it is closed', async () => {
    const clock = createVirtualClock(0);
    const { program, instrument } = createInProcessPair('belt', clock, { latencyMicroseconds: 1_000_000 });
    instrument.send(Uint8Array.of(1));
    program.write(Uint8Array.of(1));
    await program.close();
    await clock.run();
    expect(clock.now()).toBe(0);
  });
});
