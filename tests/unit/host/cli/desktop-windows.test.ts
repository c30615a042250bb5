import { describe, expect, it } from 'vitest';
import type { Snapshot } from '../../../../src/bridge/snapshot.ts';
import type { ServedHost } from '../../../../src/host/door/served-host.ts';
import { serveDesktopWindows } from '../../../../src/host/cli/desktop-windows.ts';
import type { WindowOpener } from '../../../../src/host/window/window-opener.ts';

const trialIn = (phase: string): Snapshot =>
  ({ trial: { phase, header: { trial: 't-000000000001' } } }) as unknown as Snapshot;
const noTrial = { trial: null } as unknown as Snapshot;

function served(refuses = false): {
  told: boolean[];
  commands: unknown[];
  refusals: string[];
  change: (snapshot: Snapshot) => void;
  stop: () => void;
  end: () => void;
} {
  let now = noTrial;
  let listener: ((snapshot: Snapshot) => void) | null = null;
  let pressed: () => void = () => undefined;
  const told: boolean[] = [];
  const commands: unknown[] = [];
  const refusals: string[] = [];
  const host = {
    snapshot: () => now,
    onSnapshot(listening: (snapshot: Snapshot) => void) {
      listener = listening;
      return () => (listener = null);
    },
    procedures: {
      trial: {
        command(input: unknown) {
          commands.push(input);
          return refuses ? Promise.reject(new Error('not now')) : Promise.resolve({});
        },
      },
    },
  } as unknown as ServedHost;
  const opener: WindowOpener = {
    name: 'a window',
    open: () => Promise.resolve(true),
    close: () => undefined,
    trialUnderWay: (underWay) => void told.push(underWay),
    onStop: (listening) => (pressed = listening),
  };
  const plain: WindowOpener = { name: 'a browser', open: () => Promise.resolve(true), close: () => undefined };
  const end = serveDesktopWindows(host, [opener, plain], (why) => refusals.push(why));
  const change = (snapshot: Snapshot): void => {
    now = snapshot;
    listener?.(snapshot);
  };
  return { told, commands, refusals, change, stop: () => pressed(), end };
}

describe('windows of the desktop program', () => {
  it('are told when a trial begins to be under way and when it no longer is, each once', () => {
    const { told, change, end } = served();
    for (const snapshot of [noTrial, trialIn('prepared'), trialIn('running'), trialIn('held')]) change(snapshot);
    expect(told).toEqual([true]);
    for (const snapshot of [trialIn('closed'), noTrial]) change(snapshot);
    expect(told).toEqual([true, false]);
    end();
    change(trialIn('running'));
    expect(told).toHaveLength(2);
  });

  it('stop the trial that is under way by their stop key, and nothing when there is none', async () => {
    const { commands, change, stop } = served();
    stop();
    expect(commands).toEqual([]);
    change(trialIn('running'));
    stop();
    expect(commands).toMatchObject([{ trial: 't-000000000001', action: 'stop', note: 'stop key' }]);
  });

  it('say why a stop was refused', async () => {
    const { refusals, change, stop } = served(true);
    change(trialIn('running'));
    stop();
    await Promise.resolve();
    await Promise.resolve();
    expect(refusals).toEqual(['not now']);
  });
});
