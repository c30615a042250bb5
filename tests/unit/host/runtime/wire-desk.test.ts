import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/registry.ts';
import { scenarios } from '../../../../drivers/virtual-rig/scenarios/index.ts';
import type { Transport } from '../../../../src/device/transport.ts';
import { openRig } from '../../../../src/host/runtime/open-rig.ts';
import { createWireDesk } from '../../../../src/host/runtime/wire-desk.ts';
import type { WireDesk } from '../../../../src/host/runtime/wire-desk.ts';
import type { CaptureFile } from '../../../../src/host/wire/capture.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';
import type { FakeClock } from '../../../support/fake-clock.ts';

const { rig } = scenarios.short;
const nothing = (): undefined => undefined;

/** A file in memory, on a disk that can hang. */
function memory(hangs: boolean): CaptureFile & { readonly text: string } {
  let text = '';
  return {
    get text() {
      return text;
    },
    append: (more) => (hangs ? new Promise(nothing) : Promise.resolve((text += more))),
    free: () => Promise.resolve(null),
    close: () => Promise.resolve(),
  };
}

function desk(clock: FakeClock, file: CaptureFile): WireDesk {
  return createWireDesk({
    ...{ rig, virtual: true, clock, wallNow: () => new Date(0), folder: '/nowhere', program: 'test' },
    ...{ connectionOf: () => null, isGuarded: () => false, onChange: nothing },
    createFile: () => Promise.resolve(file),
  });
}

describe('captures of a rig that is closed', () => {
  it('hold nobody up on a disk that hangs', async () => {
    const clock = createFakeClock();
    const wires = desk(clock, memory(true));
    await wires.beginCapture('photometer');
    let ended = false;
    const ending = wires.end().then(() => (ended = true));
    await clock.advanceTo(2_900_000);
    expect(ended).toBe(false);
    await clock.advanceTo(3_000_000);
    await ending;
    expect(wires.capture('photometer')?.state).toBe('running');
  });

  it('get their end where a port is not given back as it should be', async () => {
    const clock = createFakeClock();
    const file = memory(false);
    const wires = desk(clock, file);
    const broken: Transport = {
      ...{ label: 'made up', write: nothing, onBytes: nothing, onClose: nothing },
      close: () => Promise.reject(new RangeError('the port does not close')),
    };
    let closed = false;
    const opened = openRig({
      source: {
        ...{ rig, placesThem: true, settings: () => null, open: () => Promise.resolve(broken) },
        close: () => Promise.resolve(void (closed = true)),
      },
      ...{ wires, clock, lines: createLineFramer, onReading: nothing, onProblem: nothing, onChange: nothing },
    });
    await opened.connected();
    await wires.beginCapture('photometer');
    await expect(opened.close()).rejects.toThrow('the port does not close');
    expect(file.text).toMatch(/"end":"the rig was closed"}\n$/);
    expect(closed).toBe(true);
    expect(clock.pending).toBe(0);
  });
});
