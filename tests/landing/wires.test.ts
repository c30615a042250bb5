import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readTrial, readWire } from '../../src/host/store/read.ts';
import { chambersideForemost, temporaryFolder } from '../support/command-line.ts';
import { agreement, printedRehearsal, rehearse, type PrintedRehearsal } from '../support/rehearsal.ts';

/** A series of 92 s on real wires takes its time; both wires share it, and a busy machine may need another go. */
const realTimeMilliseconds = 600_000;

/** Cells that a machine may tear gaps into before it counts as too busy for a verdict. */
const mostTorn = 2;

const folder = temporaryFolder();
const files = new Map([['none', folder.file('none.chamberside')]]);
const study = (wire: string): string => files.get(wire) ?? '';
const runs = new Map<string, PrintedRehearsal>();

beforeAll(async () => {
  // Same scenario, same seed: the physics is the same, the moments of switching differ by milliseconds.
  const words = ['--scenario', 'short', '--seed', '5'];
  // First the one that takes all of a processor: on real wires time is real, and a busy machine tears gaps.
  runs.set('none', await rehearse(study('none'), ...words));
  await Promise.all(
    ['pty', 'tcp'].map(async (wire) => {
      for (const attempt of [1, 2, 3]) {
        files.set(wire, folder.file(`${wire}-${attempt}.chamberside`));
        const result = await onWire(study(wire), ...words, '--wire', wire);
        runs.set(wire, result);
        if (torn(result) <= mostTorn) return;
      }
    }),
  );
}, realTimeMilliseconds);
afterAll(() => folder.clear());

/** What a rehearsal printed, whatever it thinks of its cells: that is judged below. */
async function onWire(file: string, ...words: readonly string[]): Promise<PrintedRehearsal> {
  return printedRehearsal(await chambersideForemost('rehearse', '--study', file, ...words, '--json'));
}

/** Cells whose only fault is that the machine did not run the program for a while. */
function torn(result: PrintedRehearsal): number {
  return result.cells.filter((cell) => cell.flagged && cell.flags.every((flag) => flag === 'gap')).length;
}

const run = (wire: string): PrintedRehearsal => {
  const found = runs.get(wire);
  if (found === undefined) throw new Error(`there is no run on ${wire}`);
  return found;
};

describe.each(['pty', 'tcp'])('a rehearsal on %s', (wire) => {
  it('runs in real time, and agrees with the truth', () => {
    expect(run(wire).timesRealTime).toBeLessThan(1.01);
    const result = agreement(run(wire).cells, wire);
    expect(result.outside).toEqual([]);
    // A machine that does not run the program for 150 ms tears a gap into the readings, which must then be said.
    const flags = run(wire).cells.flatMap((cell) => (cell.flagged ? cell.flags : []));
    expect(flags.filter((flag) => flag !== 'gap')).toEqual([]);
    expect(result.flagged).toBeLessThanOrEqual(mostTorn);
    expect(run(wire).counts.problems).toBe(0);
  });

  it('gives the same cells as in one process, within noise', () => {
    for (const [index, cell] of run('none').cells.entries()) {
      const other = run(wire).cells[index];
      expect(other?.exercise).toBe(cell.exercise);
      expect(other?.probe).toBe(cell.probe);
      const difference = Math.abs((other?.windowPercent ?? 0) - (cell.windowPercent ?? 0));
      // The window sees strokes a few milliseconds earlier or later; noise is that of the detection limit.
      const allowed = 0.05 * (cell.windowPercent ?? 0) + 2 * (cell.detectionLimitPercent ?? 0);
      expect(difference, `${cell.exercise} ${cell.probe}`).toBeLessThan(allowed);
    }
  });

  it('accounts for every byte on the wire', () => {
    const printed = run(wire);
    const stored = readWire(study(wire), printed.trialId);
    for (const [instrument, account] of Object.entries(printed.bytes)) {
      expect(account.accounted, instrument).toBe(account.received);
      for (const direction of ['in', 'out'] as const) {
        const bytes = stored
          .filter((record) => record.instrument === instrument && record.direction === direction)
          .reduce((sum, record) => sum + record.bytes.length, 0);
        expect(bytes, `${instrument} ${direction}`).toBe(direction === 'in' ? account.received : account.sent);
      }
    }
    expect(printed.bytes['photometer']?.received ?? 0).toBeGreaterThan(50_000);
    expect(printed.bytes['selector']?.sent ?? 0).toBeGreaterThan(100);
  });

  it('takes the acknowledged time of every port, not the planned one', () => {
    const { events } = readTrial(study(wire), run(wire).trialId);
    const acknowledged = events.filter((event) => event.kind === 'port-acknowledged' && event.dwell >= 0);
    expect(acknowledged.length).toBe(run(wire).counts.dwells);
    for (const event of acknowledged) {
      if (event.kind !== 'port-acknowledged') continue;
      const began = events.find((other) => other.kind === 'dwell-began' && other.dwell.dwell === event.dwell);
      const planned = began?.kind === 'dwell-began' ? began.plannedAtMicroseconds : 0;
      // The virtual valve needs 0.2 s; a switch that is late by more than 0.3 s on top would be a slow program.
      expect(event.atMicroseconds - planned).toBeGreaterThan(150_000);
      expect(event.atMicroseconds - planned).toBeLessThan(500_000);
    }
  });
});
