/**
 * The tables of a data package and their columns. Units stand beside the columns; where each row of a table has one of
 * its own, `unit` says in which column or file it is found.
 */

/** Types of the Table Schema standard that we use. */
export type FieldType = 'string' | 'integer' | 'number' | 'boolean';

export interface Field {
  readonly name: string;
  readonly type: FieldType;
  readonly description: string;
  readonly unit?: string;
  /** An empty place means that there is none; otherwise it must be filled. */
  readonly mayBeEmpty?: true;
}

function text(name: string, description: string): Field {
  return { name, type: 'string', description };
}

function percent(name: string, description: string): Field {
  return { name, type: 'number', description, unit: '%', mayBeEmpty: true };
}

const trial = text('trial', 'Identifier of the trial.');
const time: Field = { name: 'time_us', type: 'integer', description: 'Trial time.', unit: 'us' };

export const trialFields: readonly Field[] = [
  trial,
  text('subject', 'Code of the subject.'),
  text('ensemble', 'What the subject wore.'),
  text('operator', 'Code of the operator.'),
  { name: 'virtual', type: 'boolean', description: 'Recorded on the virtual rig: no result of a real ensemble.' },
  text('sealed_at', 'When the trial was sealed, ISO 8601 in UTC.'),
  text('head', 'Digest of the last link of its chain, SHA-256, hexadecimal.'),
  { name: 'links', type: 'integer', description: 'Links of its chain.' },
  { name: 'intact', type: 'boolean', description: 'Whether it is what was recorded, when it was exported.' },
];

export const cellFields: readonly Field[] = [
  trial,
  text('assessment', 'Identifier of the assessment of the trial that counts: the released one, else the newest.'),
  text('method', 'Name of its method.'),
  { name: 'method_version', type: 'integer', description: 'Version of its method.' },
  text('program', 'Version of the program that assessed.'),
  text('exercise', 'Exercise of the series.'),
  text('probe', 'Probe of the rig.'),
  percent('window_percent', 'Inward leakage in the air that was seen.'),
  percent('window_low_percent', '95 % interval of the window leakage, lower end.'),
  percent('window_high_percent', '95 % interval of the window leakage, upper end.'),
  percent('exercise_percent', 'The same value, asked of the whole exercise.'),
  percent('exercise_low_percent', '95 % interval of the exercise leakage, lower end.'),
  percent('exercise_high_percent', '95 % interval of the exercise leakage, upper end.'),
  percent('detection_limit_percent', 'Detection limit of the cell.'),
  { ...text('flags', 'Codes of what is in doubt, with blanks between them.'), mayBeEmpty: true },
];

export const assessmentFields: readonly Field[] = [
  trial,
  text('assessment', 'Identifier of the assessment that counts, from which its cells are.'),
  text('created_at', 'When it was made, ISO 8601 in UTC.'),
  text('program', 'Version of the program that assessed.'),
  text('method', 'The method in full; JSON.'),
  { ...text('person', 'Code of the reviewer who had it made; none where nobody chose anything.'), mayBeEmpty: true },
  { ...text('reason', 'Why the reviewer had it made.'), mayBeEmpty: true },
  text('left_out', 'Stretches that are left out: from, to, on which time, at which probe, why; JSON.'),
];

export const voidingFields: readonly Field[] = [
  trial,
  text('decision', 'void: made void from here on; withdrawn: that was taken back. The last of a trial counts.'),
  text('created_at', 'When it was decided, ISO 8601 in UTC.'),
  text('person', 'Code of the reviewer.'),
  text('reason', 'Why.'),
];

export const configurationFields: readonly Field[] = [
  trial,
  text('part', 'header, rig, series, method, streams, instruments or segments.'),
  text('json', 'As it was frozen when the trial began; JSON.'),
];

export const eventFields: readonly Field[] = [
  time,
  text('kind', 'What happened.'),
  text('json', 'The whole event; JSON.'),
];

export function readingFields(unit: string): readonly Field[] {
  return [
    { ...time, description: 'Trial time of arrival.' },
    { name: 'value', type: 'number', description: 'Reading.', unit },
  ];
}

export const wireFields: readonly Field[] = [
  time,
  text('instrument', 'Whose line it is.'),
  text('direction', 'in: from the instrument; out: to it. Seen from the program.'),
  text('bytes', 'What went over the wire in one read or write; hexadecimal.'),
];

/** Parts of the configuration of a trial, in the order of their rows. */
export const configurationParts = ['header', 'rig', 'series', 'method', 'streams', 'instruments', 'segments'] as const;
export type ConfigurationPart = (typeof configurationParts)[number];

export const fileNames = {
  descriptor: 'datapackage.json',
  trials: 'trials.csv',
  cells: 'cells.csv',
  assessments: 'assessments.csv',
  configuration: 'configuration.csv',
  voidings: 'voidings.csv',
  events: (of: string) => `${of}/events.csv`,
  wire: (of: string) => `${of}/wire.csv`,
  readings: (of: string, instrument: string, stream: string) => `${of}/readings-${instrument}-${stream}.csv`,
} as const;
