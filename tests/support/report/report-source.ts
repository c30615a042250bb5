import { assess } from '../../../src/leakage/assess.ts';
import type { Assessment } from '../../../src/leakage/assessment.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { probePorts } from '../../../src/model/rig.ts';
import type { TrialHeader } from '../../../src/model/trial-event.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import type { ReportSource } from '../../../src/report/source.ts';
import { syntheticTrial, type SyntheticOptions } from '../synthetic-trial.ts';

const digest = (character: string): string => character.repeat(64);

/** What a report is made from, of a synthetic trial that is assessed as any other. */
export function reportSource(options: SyntheticOptions = {}): ReportSource {
  return sourceOf(syntheticTrial(options).record);
}

export function sourceOf(record: TrialRecord, details: Assessment = assess(record, firstMethod)): ReportSource {
  const last = record.events.reduce((latest, { atMicroseconds }) => Math.max(latest, atMicroseconds), 0);
  return {
    study: { study: record.header.study, name: 'Winter coveralls', createdAt: '2026-11-20T08:00:00.000Z' },
    record,
    endMicroseconds: last + 1,
    instruments: record.rig.instruments.map(({ instrument, kind, dialect }) => ({
      instrument,
      kind,
      dialect,
      connection: `serial ${instrument}`,
    })),
    seal: { at: '2026-11-24T14:02:09.000Z', head: digest('a'), count: 1400, seal: 3, sealDigest: digest('b') },
    voidings: [],
    signatures: [],
    repeatedBy: [],
    frozen: [
      { part: 'header', digest: digest('c') },
      { part: 'rig', digest: digest('d') },
    ],
    assessment: {
      assessment: 'a-000000000001',
      position: 1,
      digest: digest('e'),
      methodDigest: digest('f'),
      trialHead: digest('a'),
      program: '0.1.0',
      createdAt: '2026-11-24T14:03:00.000Z',
      method: firstMethod,
      details,
      review: null,
    },
    program: '0.1.0',
  };
}

/** The same with another header. */
export function withHeader(source: ReportSource, header: Partial<TrialHeader>): ReportSource {
  return { ...source, record: { ...source.record, header: { ...source.record.header, ...header } } };
}

/** The same with other cells and means. */
export function withDetails(source: ReportSource, details: Partial<Assessment>): ReportSource {
  return {
    ...source,
    assessment: { ...source.assessment, details: { ...source.assessment.details, ...details } },
  };
}

/** Names that try what names can: markup, directions, scripts, controls, length. */
export const hostileNames = {
  markup: '<script>alert(1)</script> & "quotes" \'single\' </svg>',
  hebrew: 'חליפה אחת',
  arabic: 'بدلة واقية',
  chinese: '防护服甲型',
  mixed: 'Łódź Ενδυμα Костюм Ấn ≤ ≥ τ µ 😀',
  turning: 'safe\u202Eevil\u2066\u200F end',
  controls: 'line\nbreak\ttab\u0000null\u001b[31m\ud800',
  long: 'Verylongnamewithoutanyspaces'.repeat(12),
} as const;

/** The same with its exercises again and again, each under a name of its own. */
export function withExercises(source: ReportSource, count: number): ReportSource {
  const { record } = source;
  const { exercises } = record.series;
  const { details } = source.assessment;
  const copies = Array.from({ length: count }, (_, index) => {
    const original = exercises[index % exercises.length];
    if (original === undefined) throw new Error('there is no exercise to copy');
    return { original, copy: { ...original, exercise: `copy-${index}`, name: `Movement number ${index + 1}` } };
  });
  const cells = copies.flatMap(({ original, copy }, index) =>
    details.cells
      .filter((cell) => cell.exercise === original.exercise)
      .map((cell) => ({
        ...cell,
        exercise: copy.exercise,
        windowPercent: cell.windowPercent === null ? null : cell.windowPercent * (1 + index / 50),
        flagged: index % 3 === 1,
        flags: index % 3 === 1 ? (['gap', 'unbracketed', 'challenge-unstable'] as const) : [],
      })),
  );
  const means = copies.map(({ original, copy }) => {
    const mean = details.exercises.find((one) => one.exercise === original.exercise);
    if (mean === undefined) throw new Error('there is no mean to copy');
    return { ...mean, exercise: copy.exercise };
  });
  const series = { ...record.series, exercises: copies.map(({ copy }) => copy) };
  return withDetails({ ...source, record: { ...record, series } }, { cells, exercises: means });
}

/** Long words, as languages that join them have; none can be broken at a blank. */
const joinedLabels = [
  'Kapuzenrandbereichvorne',
  'Brustmitteunterhalb-rechts',
  'Rückenlendenwirbelbereich',
  'Oberschenkelinnenseite-links',
  'Knöchel',
];
const everyDoubt = ['gap', 'unbracketed', 'challenge-unstable', 'no-flow', 'port-unconfirmed', 'incomplete'] as const;

/**
 * The same with labels of long words, doubts in every value, and every seventh missing: as much as there can be to say.
 * @param probes how many there are; beyond five the first again under other names.
 */
export function withDoubts(source: ReportSource, probes = 5): ReportSource {
  const { record } = source;
  const { details } = source.assessment;
  const own = probePorts(record.rig);
  const first = own[0];
  if (first === undefined) throw new Error('there is no probe to copy');
  const more = Array.from({ length: probes - own.length }, (_, index) => `extra-${index + 1}`);
  const ports = [
    ...record.rig.ports.map((port) =>
      port.role === 'probe' ? { ...port, label: joinedLabels[own.indexOf(port)] ?? port.label } : port,
    ),
    ...more.map((probe, index) => ({ ...first, port: 20 + index, probe, label: `Zusatz ${index + 1}` })),
  ];
  const names = ['Treppensteigengeschwindigkeitsuebung', 'Walking at 6.5 km/h with arms raised above the head'];
  const exercises = record.series.exercises.map((one, index) => ({ ...one, name: names[index % 2] ?? one.name }));
  const copied = more.flatMap((probe) =>
    details.cells.filter((cell) => cell.probe === first.probe).map((cell) => ({ ...cell, probe })),
  );
  const cells = [...details.cells, ...copied].map((cell, index) => ({
    ...cell,
    windowPercent: index % 7 === 3 ? null : cell.windowPercent,
    flagged: true,
    flags: everyDoubt,
  }));
  const means = [...details.probes, ...more.map((probe) => ({ ...details.probes[0], probe }))];
  return withDetails(
    { ...source, record: { ...record, rig: { ...record.rig, ports }, series: { ...record.series, exercises } } },
    {
      cells,
      flags: [...everyDoubt, 'saturated', 'unsettled'],
      probes: means.map((mean) => ({ ...mean, flagged: true })) as Assessment['probes'],
      overall: {
        ...details.overall,
        flagged: true,
        cellsMissing: cells.filter(({ windowPercent }) => windowPercent === null).length,
      },
    },
  );
}
