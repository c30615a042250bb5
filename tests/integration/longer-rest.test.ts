import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { scenarios } from '../../drivers/virtual-rig/index.ts';
import { listTrials, readPlannedMethod, readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { assess } from '../../src/leakage/assess.ts';
import type { Assessment } from '../../src/leakage/assessment.ts';
import type { TrialEvent, TrialEventOf } from '../../src/model/trial-event.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { tellHappenings } from '../../src/report/story.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { playShortTrial } from '../support/session-bench.ts';

const second = 1_000_000;
const [firstExercise, ...others] = scenarios.short.series.exercises;
const folder = temporaryFolder();

interface Played {
  readonly path: string;
  readonly record: TrialRecord;
  readonly assessment: Assessment;
}

/** The short series on the virtual rig, in virtual time; pressed so often on the first reference and on later zeros. */
async function play(name: string, presses: { readonly reference: number; readonly zero: number }): Promise<Played> {
  const path = join(folder.path, `${name}.chamberside`);
  const accepted: boolean[] = [];
  await playShortTrial({
    path,
    seed: 5,
    onEvent(event, { clock, session }) {
      if (event.kind !== 'dwell-began' || event.dwell.exercise === null) return;
      const { exercise, purpose } = event.dwell;
      const isFirst = exercise === firstExercise?.exercise;
      const wanted = isFirst ? 'reference' : 'zero';
      const count = purpose === wanted ? presses[wanted] : 0;
      for (let press = 0; press < count; press += 1) {
        clock.after((1 + 0.2 * press) * second, () =>
          accepted.push(session.command('extend-rest', 'KL', press === 0 ? 'out of breath' : '').accepted),
        );
      }
    },
  });
  expect(accepted.every((one) => one)).toBe(true);
  const [{ trial } = { trial: '' }] = listTrials(path);
  const record = readTrial(path, trial);
  return { path, record, assessment: assess(record, readPlannedMethod(path, trial)) };
}

const of = <Kind extends TrialEvent['kind']>(played: Played, kind: Kind): TrialEventOf<Kind>[] =>
  played.record.events.filter((event): event is TrialEventOf<Kind> => event.kind === kind);

let plain: Played;
let longer: Played;
beforeAll(async () => {
  plain = await play('plain', { reference: 0, zero: 0 });
  longer = await play('longer', { reference: 3, zero: 1 });
}, 120_000);
afterAll(() => folder.clear());

describe('a trial on the virtual rig whose rests were lengthened', () => {
  it('is longer by 30 s a press to the microsecond, with its ports in the same order', () => {
    const presses = of(longer, 'rest-lengthened');
    expect(others.length).toBeGreaterThan(0);
    expect(presses).toHaveLength(3 + others.length);
    const last = (played: Played) => of(played, 'dwell-began').at(-1)?.plannedAtMicroseconds ?? 0;
    expect(last(longer) - last(plain)).toBe(presses.length * 30 * second);
    const ports = (played: Played) => of(played, 'port-acknowledged').map(({ port }) => port);
    expect(ports(longer)).toEqual(ports(plain));
    expect(of(longer, 'dwell-ended').every(({ complete }) => complete)).toBe(true);
  });

  it('is sealed and intact, and says who lengthened what and why, in the record and in the report', () => {
    expect(verify(longer.path)).toMatchObject({ intact: true });
    const [first] = of(longer, 'rest-lengthened');
    expect(first).toMatchObject({ person: 'KL', note: 'out of breath', byMicroseconds: 30 * second });
    const told = tellHappenings(longer.record).told.filter(({ what }) => what.includes('longer'));
    expect(told).toHaveLength(of(longer, 'rest-lengthened').length);
    expect(told[0]).toMatchObject({
      what: `Rest before ${first?.exercise ?? ''} 30\u00a0s longer`,
      said: 'out of breath (KL)',
    });
    expect(tellHappenings(plain.record).told.some(({ what }) => what.includes('longer'))).toBe(false);
  });

  it('is assessed as the other one is: the same cells, none in more doubt', () => {
    const cells = ({ assessment }: Played) =>
      assessment.cells.map(({ exercise, probe, flags }) => ({ exercise, probe, flags }));
    expect(cells(longer)).toEqual(cells(plain));
    for (const [index, cell] of longer.assessment.cells.entries()) {
      const before = plain.assessment.cells[index]?.windowPercent ?? NaN;
      expect((cell.windowPercent ?? NaN) / before).toBeGreaterThan(0.5);
      expect((cell.windowPercent ?? NaN) / before).toBeLessThan(2);
    }
  });
});
