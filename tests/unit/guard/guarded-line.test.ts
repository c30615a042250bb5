import { expect, it } from 'vitest';
import { createGuardedLine } from '../../../src/guard/guarded-line.ts';
import { createVirtualClock } from '../../../src/host/clock/virtual-clock.ts';
import { createInProcessPair } from '../../../src/host/transport/in-process.ts';

function line() {
  const clock = createVirtualClock(0);
  const opened: string[] = [];
  const made = createGuardedLine({
    connection: { transport: 'serial', path: 'bike', baudRate: 9600 },
    instruments: ['bike'],
    transport: createInProcessPair('first', clock).program,
    reopen() {
      opened.push('again');
      return Promise.resolve(createInProcessPair('again', clock).program);
    },
    onBytes: () => undefined,
    onClosed: () => undefined,
  });
  made.take(null);
  return { clock, made, opened };
}

it('does not open a port again that it has given back', async () => {
  const { made, opened } = line();
  await made.taken();
  await made.close('closed by the program');
  await expect(made.taken()).rejects.toMatchObject({ code: 'port-busy' });
  expect(opened).toEqual([]);
  expect(made.isHeld).toBe(false);
});

it('opens one again that could not be opened anew for the host, or uses what was opened for it', async () => {
  const { clock, made, opened } = line();
  await made.yieldPort('it is opened again');
  await expect(made.taken()).rejects.toMatchObject({ code: 'port-busy' });
  made.reclaim(null);
  expect((await made.taken()).label).toBe('in-process again');
  expect(opened).toEqual(['again']);
  await made.yieldPort('it is opened again');
  made.reclaim(createInProcessPair('new', clock).program);
  expect((await made.taken()).label).toBe('in-process new');
  expect(opened).toEqual(['again']);
});

it('closes what the system opens only after the port was given back', async () => {
  const clock = createVirtualClock(0);
  const late = createInProcessPair('late', clock);
  let open: () => void = () => undefined;
  let over = false;
  const made = createGuardedLine({
    connection: { transport: 'serial', path: 'bike', baudRate: 9600 },
    instruments: ['bike'],
    transport: createInProcessPair('first', clock).program,
    reopen: () =>
      new Promise((resolve) => {
        open = () => resolve(late.program);
      }),
    onBytes: () => undefined,
    onClosed: () => undefined,
  });
  made.take(null);
  await made.yieldPort('it is opened again');
  made.reclaim(null);
  const taken = made.taken();
  await made.close('closed by the program');
  late.program.onClose(() => (over = true));
  open();
  await expect(taken).rejects.toMatchObject({ code: 'port-busy' });
  expect(over).toBe(true);
});

it('keeps one that opens late, however often it was asked for meanwhile', async () => {
  const clock = createVirtualClock(0);
  let open: () => void = () => undefined;
  const made = createGuardedLine({
    connection: { transport: 'serial', path: 'bike', baudRate: 9600 },
    instruments: ['bike'],
    transport: createInProcessPair('first', clock).program,
    reopen: () =>
      new Promise((resolve) => {
        open = () => resolve(createInProcessPair('late', clock).program);
      }),
    onBytes: () => undefined,
    onClosed: () => undefined,
  });
  made.take(null);
  await made.yieldPort('it is opened again');
  made.reclaim(null);
  const asked = [made.taken(), made.taken()];
  open();
  expect((await Promise.all(asked)).map(({ label }) => label)).toEqual(['in-process late', 'in-process late']);
  expect(made.isOpen).toBe(true);
});
