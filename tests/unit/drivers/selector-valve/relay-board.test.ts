import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import {
  relayBoardSettingsSchema,
  selectorValveRelayBoard,
} from '../../../../drivers/selector-valve/relay-board/manifest.ts';
import { createRelayBoardSimulator } from '../../../../drivers/selector-valve/relay-board/simulator.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
} from '../../../contract/drivers/support.ts';

function bench(given: Record<string, unknown> = {}) {
  const settings = relayBoardSettingsSchema.parse({ ports: 4, ...given });
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const moves: number[] = [];
  const board = createRelayBoardSimulator(
    settings,
    {
      timers: clock,
      random: createRandom(1),
      send: (bytes) => {
        cable.arrive(bytes, clock.now());
      },
    },
    { moveTo: (port) => moves.push(port), switchingMicroseconds: 100_000, startPort: 1 },
  );
  cable.onWrite((bytes) => {
    board.receive(bytes);
  });
  board.start();
  const session = selectorValveRelayBoard.open({
    instrument: 'valve',
    settings,
    transport: cable,
    timers: clock,
    lines: createLineFramer,
    sink,
  });
  const ask = (port: number): Promise<unknown> | undefined =>
    session.selector?.select(port).then(
      () => 'confirmed',
      (error: unknown) => error,
    );
  return { clock, cable, sink, moves, board, session, ask };
}

describe('a relay board', () => {
  it('switches, and says of every request that nothing confirms it', async () => {
    const { moves, ask, board, session, clock } = bench();
    for (const port of [3, 2]) {
      const said = await ask(port);
      expect(said).toMatchObject({ code: 'position-unconfirmed' });
      expect(String(said)).toContain(`port ${port}`);
      clock.advance(200_000);
      expect(board.switchedOn).toEqual([port]);
    }
    expect(moves).toEqual([3, 2]);
    await expect(session.selector?.position()).rejects.toMatchObject({ code: 'position-unconfirmed' });
  });

  it('switches all others off at first, then the one that was on, before the next', async () => {
    const { cable, ask } = bench();
    await ask(3);
    expect(cable.written).toBe('relay 1 off\nrelay 2 off\nrelay 4 off\nrelay 3 on\n');
    await ask(2);
    expect(cable.written.endsWith('relay 3 on\nrelay 3 off\nrelay 2 on\n')).toBe(true);
    await ask(2);
    expect(cable.written.endsWith('relay 2 on\nrelay 2 on\n')).toBe(true);
  });

  it('takes the answer of a board that has one for what it is: no position', async () => {
    const { sink, ask } = bench({ answer: 'done {relay}', firstRelay: 0 });
    expect(await ask(1)).toMatchObject({ code: 'position-unconfirmed' });
    expect(sink.problems).toEqual([]);
    expect(sink.understoodBytes).toBe('done 1\ndone 2\ndone 3\ndone 0\n'.length);
  });

  it('refuses a port that it does not have, what was withdrawn, and everything after the end', async () => {
    const { cable, ask, session } = bench();
    expect(await ask(5)).toMatchObject({ code: 'request-refused' });
    await expect(session.selector?.select(2, AbortSignal.abort())).rejects.toMatchObject({ code: 'request-cancelled' });
    session.end();
    expect(await ask(2)).toMatchObject({ code: 'transport-closed' });
    expect(cable.written).toBe('');
  });

  it.each([
    [{ on: 'relay on' }, 'on'],
    [{ off: 'relay {relay} on' }, 'off'],
    [{ on: 'relay {relay} {any}' }, 'on'],
    [{ answer: '{port}' }, 'answer'],
  ])('%j is refused', (settings, field) => {
    const parsed = relayBoardSettingsSchema.safeParse(settings);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.issues.map(({ path }) => path[0])).toContain(field);
  });
});
