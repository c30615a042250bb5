import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import type { PlanPreview, ResultCell, TrialResult } from '../../../src/bridge/result.ts';
import type { InstrumentState, Snapshot, StudyRow, TrialRow } from '../../../src/bridge/snapshot.ts';
import { checkDefinitions } from '../../../src/calibration/check/definitions.ts';
import { figure, verdict } from '../../../src/calibration/check/vocabulary.ts';
import type { CheckKind, Figure } from '../../../src/calibration/check/vocabulary.ts';
import type { Rig } from '../../../src/model/rig.ts';
import { probePorts } from '../../../src/model/rig.ts';
import type { StreamDescriptor } from '../../../src/model/stream.ts';

const identifier = (kind: string, number: number): string => `${kind}-${String(number).padStart(12, '0')}`;

/** The air path of the demonstration with instruments instead of software. */
export const ownRig: Rig = { ...demo.rig, name: 'North room rig', version: 14, virtual: false };

export const streams: StreamDescriptor[] = [
  {
    instrument: 'photometer',
    stream: 'concentration',
    unit: 'mg/m3',
    resolution: 0.000_01,
    plausibleLow: null,
    plausibleHigh: null,
    expectedIntervalSeconds: 0.05,
    silenceLimitSeconds: 2,
  },
  {
    instrument: 'belt',
    stream: 'heart-rate',
    unit: 'per-minute',
    resolution: 1,
    plausibleLow: 25,
    plausibleHigh: 240,
    expectedIntervalSeconds: 1,
    silenceLimitSeconds: 5,
  },
  ...['stop', 'door'].map(
    (stream): StreamDescriptor => ({
      ...{ instrument: 'contacts', stream, unit: 'one', resolution: 1, plausibleLow: 0, plausibleHigh: 1 },
      ...{ expectedIntervalSeconds: 0.2, silenceLimitSeconds: 1 },
    }),
  ),
];

function instrument(name: string, kind: string, dialect: string, path: string): InstrumentState {
  return {
    instrument: name,
    kind,
    dialect,
    state: 'live',
    connection: `serial ${path} at 115200`,
    settings: { kind: 'serial', path, baudRate: 115_200 },
    detail: null,
    remarks: [],
    reconnects: 0,
    readings: 4812,
    problems: 0,
    capture: null,
  };
}

export const instruments: InstrumentState[] = [
  instrument('photometer', 'photometer', 'text-lines', '/dev/ttyUSB0'),
  instrument('selector', 'selector-valve', 'command-lines', '/dev/ttyUSB1'),
  instrument('belt', 'heart-rate', 'measurement-hex', '/dev/ttyUSB3'),
  instrument('contacts', 'contact', 'lines', '/dev/ttyUSB4'),
];

/** A trial of a study as its row. */
export function trialRow(number: number, change: Partial<TrialRow> = {}): TrialRow {
  return {
    trial: identifier('t', number),
    subject: `S${String((number % 6) + 1).padStart(2, '0')}`,
    ensemble: number % 2 === 0 ? 'Coverall A' : 'Coverall B',
    operator: 'KL',
    virtual: false,
    createdAt: new Date(Date.UTC(2026, 10, 2 + number, 9, 40)).toISOString(),
    standing: 'assessed',
    ...{ voided: null, recordedSeconds: 1212 },
    cells: { all: 50, flagged: number % 5 === 3 ? 2 : 0 },
    ...change,
  };
}

/** A study with trials, numbered from `first`. */
export function studyRow(number: number, name: string, trials: TrialRow[]): StudyRow {
  return {
    file: `${name.toLowerCase().replaceAll(' ', '-')}.chamberside`,
    study: identifier('s', number),
    name,
    createdAt: new Date(Date.UTC(2026, 9, 20 + number, 8)).toISOString(),
    trials,
    failure: null,
  };
}

/** A laboratory on its first day: nobody, no study, no rig. */
export const firstDay: Snapshot = {
  version: 1,
  host: {
    hostId: identifier('h', 1),
    program: '0.1.0',
    startedAt: '2026-11-25T08:00:00.000Z',
    folder: '/home/laboratory/Chamberside',
    freeBytes: 81_000_000_000,
    windows: 1,
    subjectDisplays: 0,
  },
  person: null,
  people: [],
  studies: [],
  rigs: [],
  series: [
    { name: 'Coverall series, ten blocks', version: 1, source: 'own', exercises: 10, durationSeconds: 1580 },
    { name: 'Two exercises', version: 1, source: 'own', exercises: 2, durationSeconds: 190 },
  ],
  scenarios: [
    {
      scenario: 'demo',
      label: 'Grain terminal coveralls: ventilated one-piece, ten blocks',
      durationSeconds: 1644,
    },
    { scenario: 'sharp', label: 'Acceptance: every correction counts', durationSeconds: 1644 },
    { scenario: 'short', label: 'Two exercises for trying out real wires', durationSeconds: 148 },
  ],
  rig: {
    state: 'closed',
    failure: null,
    rig: null,
    streams: [],
    instruments: [],
    valve: { requestedPort: null, confirmedPort: null, state: 'unknown', answerMilliseconds: null },
    ...{ checks: { running: null, failure: null, results: [] }, doubtfulCertificates: [] },
    virtualRig: null,
  },
  trial: null,
  alarms: [],
  limitsWatched: 0,
  record: null,
  replay: null,
};

const person = { person: identifier('p', 1), code: 'KL', name: 'Kim Lind', roles: ['operator' as const] };

/** Checks of the own rig, one for each way in which they can stand on a day in November. */
export const madeUpChecks: Snapshot['rig']['checks']['results'] = [
  madeUpCheck(1, 'zero', '2026-11-25T07:52:00.000Z', [
    figure('mean', 0.000_21, 'mg/m3', { low: -0.12, high: 0.12 }, 0.000_004),
    figure('deviation', 0.000_08, 'mg/m3'),
  ]),
  madeUpCheck(2, 'detection-limit', '2026-11-21T08:10:00.000Z', [
    figure('detection-limit', 0.000_33, 'mg/m3', { high: 0.0012 }),
    figure('quantitation-limit', 0.0011, 'mg/m3'),
  ]),
  madeUpCheck(3, 'linearity', '2026-08-02T09:00:00.000Z', [
    figure('largest-residual', 0.6, 'percent', { high: 2 }),
    figure('slope', 0.993, 'one', { low: 0.8, high: 1.2 }),
  ]),
  madeUpCheck(4, 'response', '2026-11-03T10:00:00.000Z', [
    figure('transit', 0.604, 's', { low: 0.51, high: 0.69 }, 0.014),
    figure('time-constant', 1.021, 's', { low: 0.9, high: 1.1 }, 0.01),
  ]),
  madeUpCheck(
    5,
    'dilution',
    '2026-11-20T10:00:00.000Z',
    [figure('dilution', 1.004, 'one', { low: 0.95, high: 1.05 }, 0.008)],
    'hood',
  ),
];

function madeUpCheck(
  number: number,
  check: CheckKind,
  at: string,
  figures: readonly Figure[],
  subject: string | null = null,
): Snapshot['rig']['checks']['results'][number] {
  const verdictOf = verdict(figures, 'Limits as the rig states them.');
  const { validDays } = checkDefinitions[check];
  return {
    number,
    version: ownRig.version,
    madeAtMilliseconds: Date.parse(at),
    result: { ...verdictOf, check, subject, condition: 'routine', at, person: 'AM', validDays },
  };
}

/** A working laboratory: own rig open and live, three studies, one trial unfinished, one file damaged. */
export const workday: Snapshot = {
  ...firstDay,
  version: 40,
  person,
  people: [
    person,
    { person: identifier('p', 2), code: 'AM', name: 'Ada Moreau', roles: ['technician', 'operator'] },
    { person: identifier('p', 3), code: 'RT', name: 'Robin Tamm', roles: ['reviewer'] },
  ],
  rigs: [{ name: ownRig.name, version: ownRig.version, virtual: false }],
  studies: [
    studyRow(1, 'Spray booth hoods', [
      trialRow(1),
      trialRow(21, { standing: 'interrupted', recordedSeconds: 372, cells: null }),
    ]),
    studyRow(
      2,
      'Grain terminal coveralls',
      Array.from({ length: 12 }, (_, index) => trialRow(30 + index, { createdAt: `2026-11-${10 + index}T10:00:00Z` })),
    ),
    studyRow(3, 'Wrist seal methods', []),
    {
      ...studyRow(4, 'Asbestos removal suits', []),
      study: null,
      failure: {
        code: 'file-newer',
        what: 'The file was written by a newer version of this program.',
        where: 'asbestos-removal-suits.chamberside',
        remedy: 'Open it with version 0.3 or later; nothing in it was changed.',
      },
    },
  ],
  rig: {
    state: 'open',
    failure: null,
    rig: ownRig,
    streams,
    instruments,
    valve: { requestedPort: 3, confirmedPort: 3, state: 'confirmed', answerMilliseconds: 62 },
    ...{ checks: { running: null, failure: null, results: madeUpChecks }, doubtfulCertificates: [] },
    virtualRig: null,
  },
  limitsWatched: 6,
};

/** What the demonstration's series would be with its usable seconds. */
export const preview: PlanPreview = {
  watched: ['Heart rate above 150/min: set by the responsible person, below 157 by 85 % of 220 − age.'],
  durationSeconds: 1580,
  exercises: demo.series.exercises.map((exercise, row) => ({
    exercise: exercise.exercise,
    name: exercise.name,
    restSeconds: exercise.restSeconds,
    durationSeconds: exercise.durationSeconds,
    dwells: probePorts(ownRig).map((_, position, ports) => {
      const port = ports[(position + row) % ports.length] ?? ownRig.ports[0];
      return {
        probe: port?.probe ?? '',
        port: port?.port ?? 1,
        dwellPosition: position + 1,
        dwellSeconds: 18,
        usableSeconds: 18 - 5.6 - (port?.transitSeconds.value ?? 0),
      };
    }),
  })),
  warnings: ['The span check has not been run on this version of the rig.'],
};

const levels: Readonly<Record<string, number>> = {
  hood: 0.014,
  chest: 0.049,
  'lower-back': 0.077,
  thigh: 0.18,
  ankle: 0.46,
};
const second = 1_000_000;

function cell(exercise: string, column: number, probe: string, row: number): ResultCell {
  const value = (levels[probe] ?? 0.1) * (1 + 0.6 * Math.sin(column * 2.1 + row));
  const from = (200 + column * 130 + ((row + column) % 5) * 18 + 7) * second;
  const plain: ResultCell = {
    exercise,
    probe,
    dwellPosition: ((row + column) % 5) + 1,
    windowPercent: value,
    windowLowPercent: value * 0.94 - 0.001,
    windowHighPercent: value * 1.06 + 0.001,
    exercisePercent: value,
    exerciseLowPercent: value * 0.55,
    exerciseHighPercent: value * 1.82,
    detectionLimitPercent: 0.006,
    belowDetectionLimit: value < 0.006,
    withoutInterval: [],
    flags: value < 0.006 ? ['below-detection-limit'] : [],
    flagged: false,
    windows: [{ dwell: column * 7 + row, fromMicroseconds: from, toMicroseconds: from + 11 * second }],
  };
  if (column === 1 && probe === 'ankle') return { ...plain, flags: ['unsettled', 'gap'], flagged: true };
  if (column === 4 && probe === 'thigh') {
    return { ...plain, windowPercent: null, flags: ['flat-signal'], flagged: true, windows: [] };
  }
  return plain;
}

/** A sealed, assessed trial on own instruments with a flag, a missing cell, a value below its limit and a gap. */
export const result: TrialResult = (() => {
  const exercises = demo.series.exercises.map(({ exercise, name }, index) => ({
    exercise,
    name,
    beganAtMicroseconds: (195 + index * 130) * second,
    endedAtMicroseconds: (195 + index * 130 + 97) * second,
  }));
  const ports = probePorts(ownRig);
  const cells = exercises.flatMap(({ exercise }, column) =>
    ports.map(({ probe }, row) => cell(exercise, column, probe, row)),
  );
  const mean = (of: readonly ResultCell[]) => {
    const used = of.flatMap(({ windowPercent }) => (windowPercent === null ? [] : [windowPercent]));
    const percent = used.reduce((sum, value) => sum + value, 0) / used.length;
    return {
      windowPercent: percent,
      windowLowPercent: percent * 0.95,
      windowHighPercent: percent * 1.05,
      exerciseLowPercent: percent * 0.8,
      exerciseHighPercent: percent * 1.25,
      protectionFactor: 100 / percent,
      cells: used.length,
      cellsFlagged: of.filter(({ flagged }) => flagged).length,
      cellsMissing: of.length - used.length,
    };
  };
  return {
    file: 'grain-terminal-coveralls.chamberside',
    trial: identifier('t', 31),
    header: {
      trial: identifier('t', 31),
      study: identifier('s', 2),
      ...{ subject: 'S04', ensemble: 'Coverall A, taped', operator: 'KL' },
      ...{ virtual: false, program: '0.1.0' },
    },
    ...{ voidings: [], signatures: [], after: null, repeat: null, repeatedBy: [], rig: ownRig, series: demo.series },
    streams,
    createdAt: '2026-11-24T14:20:00.000Z',
    sealed: { at: '2026-11-24T14:52:00.000Z', head: '5f0c2a91e7b34d6688aa10c4e2d97b5f', count: 1580 },
    endsAtMicroseconds: 1580 * second,
    exercises,
    dwells: exercises.flatMap(({ exercise }, column) =>
      ports.map((_, position) => {
        const row = (((position - column) % 5) + 5) % 5;
        const port = ports[row] ?? ports[0];
        const from = (200 + column * 130 + position * 18) * second;
        return {
          dwell: column * 7 + row,
          step: column * 7 + position,
          stage: 'exercise' as const,
          purpose: 'probe' as const,
          port: port?.port ?? 1,
          probe: port?.probe ?? '',
          exercise,
          dwellPosition: position + 1,
          attempt: 1,
          plannedAtMicroseconds: from,
          requestedAtMicroseconds: from,
          acknowledgedAtMicroseconds: from + 60_000,
          unconfirmed: false,
          endedAtMicroseconds: from + 18 * second,
          complete: true,
        };
      }),
    ),
    gaps: [{ fromMicroseconds: 392 * second, toMicroseconds: 399 * second, text: 'Photometer lost, 7 s silent.' }],
    stopped: null,
    notes: [{ atMicroseconds: 640 * second, kind: 'mark', text: 'Subject coughed.' }],
    assessment: {
      assessment: identifier('a', 1),
      methodName: 'first',
      methodVersion: 1,
      program: '0.1.0',
      createdAt: '2026-11-24T14:53:00.000Z',
      cells,
      probes: ports.map(({ probe }) => ({ probe, ...mean(cells.filter((one) => one.probe === probe)) })),
      exercises: exercises.map((of) => ({ ...of, ...mean(cells.filter((one) => one.exercise === of.exercise)) })),
      overall: mean(cells),
      flags: ['unsettled', 'gap', 'flat-signal'],
      review: null,
      leftOut: [],
    },
    assessments: [],
  };
})();

/** Photometer readings of the made-up trial, mg/m³, each 0.2 s; none in the gap. */
export function madeUpReadings(): { times: Float64Array; values: Float64Array } {
  const times: number[] = [];
  const values: number[] = [];
  let state = 0;
  for (let tick = 0; tick * 0.2 < 1580; tick += 1) {
    const at = tick * 0.2;
    const dwell = result.dwells.find(
      (one) => at * second >= one.plannedAtMicroseconds && at * second < (one.endedAtMicroseconds ?? 0),
    );
    const rest = at > 110 && dwell === undefined && (at - 200) % 130 > 92 && (at - 200) % 130 < 122;
    const target = dwell !== undefined ? ((levels[dwell.probe] ?? 0) / 100) * 12 : rest ? 12 : 0.0004;
    state += (target - state) * 0.18;
    if (at > 392 && at < 399) continue;
    const unrest = 1 + 0.08 * Math.sin(tick * 1.3) * Math.cos(tick * 0.37);
    times.push(at * second);
    values.push(Math.max(state * unrest + 0.0002 * Math.sin(tick * 2.7), 0.00005));
  }
  return { times: Float64Array.from(times), values: Float64Array.from(values) };
}
