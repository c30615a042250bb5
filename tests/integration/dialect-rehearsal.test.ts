import { writeFileSync } from 'node:fs';
import { afterAll, describe, expect, it } from 'vitest';
import { scenarioNamed } from '../../drivers/virtual-rig/index.ts';
import { replayBytes } from '../../src/host/replay/replay-bytes.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { InstrumentConfiguration } from '../../src/model/rig.ts';
import { chamberside, temporaryFolder } from '../support/command-line.ts';
import { agreement, printedRehearsal } from '../support/rehearsal.ts';
import type { PrintedRehearsal } from '../support/rehearsal.ts';

const folder = temporaryFolder();
afterAll(() => folder.clear());

/** The short scenario with other instruments, rehearsed in virtual time. */
async function rehearseWith(
  name: string,
  instruments: Readonly<Record<string, Omit<InstrumentConfiguration, 'instrument'>>>,
): Promise<{ readonly study: string; readonly printed: PrintedRehearsal }> {
  const short = scenarioNamed('short');
  if (short === undefined) throw new Error('the short scenario is missing');
  const rig = {
    ...short.rig,
    instruments: short.rig.instruments.map((one) => ({ ...one, ...instruments[one.instrument] })),
  };
  const scenario = folder.file(`${name}.json`);
  writeFileSync(scenario, JSON.stringify({ ...short, name, rig }));
  const study = folder.file(`${name}.chamberside`);
  const outcome = await chamberside('rehearse', '--study', study, '--scenario', scenario, '--seed', '5', '--json');
  return { study, printed: printedRehearsal(outcome) };
}

const modbusValve = {
  kind: 'selector-valve',
  dialect: 'modbus',
  settings: { address: 2, ports: 32, lookSeconds: 0.02 },
};

describe.each([
  [
    'registers',
    { kind: 'photometer', dialect: 'modbus-registers', settings: { intervalSeconds: 0.05, wordOrder: 'low-first' } },
    modbusValve,
  ],
  [
    'a multimeter',
    { kind: 'photometer', dialect: 'multimeter-scpi', settings: { intervalSeconds: 0.05 } },
    {
      ...modbusValve,
      settings: {
        ports: 32,
        select: { by: 'coils', coil: 0 },
        position: { table: 'discrete-inputs', start: 0 },
        lookSeconds: 0.02,
      },
    },
  ],
])('a whole trial with a photometer in %s and a valve on Modbus', (name, photometer, valve) => {
  it('agrees with the truth, is intact, and says the same again from its bytes', async () => {
    const { study, printed } = await rehearseWith(name.replaceAll(' ', '-'), {
      photometer,
      selector: valve,
    });
    const { outside, flagged } = agreement(printed.cells, name);
    expect(outside).toEqual([]);
    expect(flagged).toBe(0);
    expect(printed.cells.length).toBeGreaterThan(3);
    expect(printed.counts.problems).toBe(0);
    for (const account of Object.values(printed.bytes)) expect(account.accounted).toBe(account.received);
    expect(verify(study).intact).toBe(true);
    for (const comparison of await replayBytes(study, printed.trialId)) {
      expect(comparison.differences, comparison.instrument).toEqual([]);
    }
  });
});

describe('a whole trial with a valve behind a relay board', () => {
  it('says of every dwell that its port is not confirmed, and gives no number', async () => {
    const { study, printed } = await rehearseWith('relay-board', {
      selector: { kind: 'selector-valve', dialect: 'relay-board', settings: { ports: 32 } },
    });
    expect(printed.cells.length).toBeGreaterThan(3);
    for (const cell of printed.cells) {
      expect(cell.windowPercent).toBeNull();
      expect(cell.flags).toContain('port-unconfirmed');
    }
    const { events } = readTrial(study, printed.trialId);
    expect(events.filter(({ kind }) => kind === 'port-acknowledged')).toEqual([]);
    const dwells = new Set(events.flatMap((event) => (event.kind === 'dwell-began' ? [event.dwell.dwell] : [])));
    const unconfirmed = events.flatMap((event) => (event.kind === 'port-unconfirmed' ? [event] : []));
    for (const dwell of dwells) expect(unconfirmed.map((event) => event.dwell)).toContain(dwell);
    expect(unconfirmed.every(({ detail }) => detail.includes('cannot say whether the valve moved'))).toBe(true);
    const alarms = events.flatMap((event) => (event.kind === 'alarm-raised' ? [event] : []));
    expect(JSON.stringify(alarms)).toContain('valve-unconfirmed');
    expect(verify(study).intact).toBe(true);
  });
});
