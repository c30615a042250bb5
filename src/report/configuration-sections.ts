import { transitRemarks } from '../calibration/line-words.ts';
import type { Port, Rig } from '../model/rig.ts';
import { units } from '../model/unit.ts';
import type { TrialHeader } from '../model/trial-event.ts';
import type { WatchedLimit } from '../model/watched-limit.ts';
import { beyondText } from '../safety/watched-limits.ts';
import type { Block, Facts, Section, Table, TableCell, Words } from './document.ts';
import { given, plain, wire, words } from './document.ts';
import { momentInWords, trialTime } from './moments.ts';
import { counted, nominalText, plainNumber, statedText } from './numbers.ts';
import type { ReportSource } from './source.ts';
import type { ToldExercise } from './story.ts';

/** Which trial of what this is, and what made it. */
export function identificationSection(source: ReportSource): Section {
  const { record, study, seal, assessment } = source;
  const { header, segments } = record;
  const began = segments[0]?.wallAnchor;
  const rows: Facts['rows'] = [
    { name: 'Trial', value: [wire(header.trial)] },
    { name: 'Study', value: words`${given(study.name)}, ${wire(study.study)}` },
    { name: 'Ensemble', value: [given(header.ensemble)] },
    { name: 'Began', value: plain(began === undefined ? 'not recorded' : momentInWords(began)) },
    { name: 'Length of the record', value: plain(`${trialTime(source.endMicroseconds)} (minutes and seconds)`) },
    { name: 'Sealed', value: plain(momentInWords(seal.at)) },
    { name: 'Recorded by', value: plain(`Chamberside ${header.program}`) },
    {
      name: 'Assessed',
      value: [
        ...words`${momentInWords(assessment.createdAt)} by Chamberside ${assessment.program}; `,
        ...words`assessment ${assessment.position} of this trial, ${wire(assessment.assessment)}`,
      ],
    },
    ...(header.repeats === undefined ? [] : [{ name: 'Repeats', value: repeatsInWords(source, header.repeats) }]),
    ...(source.repeatedBy.length === 0
      ? []
      : [{ name: 'Repeated by', value: [wire(source.repeatedBy.join(', '))] }]),
    ...(header.virtual ? [{ name: 'Virtual', value: plain(virtualOrigin(source)) }] : []),
  ];
  return { id: 'identification', heading: 'Identification', blocks: [{ block: 'facts', rows }] };
}

function repeatsInWords({ record }: ReportSource, repeats: NonNullable<TrialHeader['repeats']>): Words {
  const name = record.series.exercises.find(({ exercise }) => exercise === repeats.from)?.name ?? repeats.from;
  const part = name === null ? words`, the whole series` : words`, from ${given(name)} on only`;
  return [...words`trial ${wire(repeats.trial)}`, ...part];
}

function virtualOrigin({ record }: ReportSource): string {
  const { rehearsal } = record.header;
  if (rehearsal === undefined) return 'The rig is marked as virtual: its instruments exist only in software.';
  return `All readings come from the virtual rig, scenario ${rehearsal.scenario}, seed ${rehearsal.seed}.`;
}

/** What the numbers rest on: rig, instruments and lines, as frozen when the trial began. */
export function configurationSection(source: ReportSource): Section {
  const { record, instruments, assessment } = source;
  const { rig, header } = record;
  const unit = assessment.details.readingUnit;
  const stream = record.streams.find(
    ({ descriptor }) => descriptor.instrument === rig.photometer && descriptor.stream === rig.photometerStream,
  )?.descriptor;
  const interval = stream?.expectedIntervalSeconds ?? null;
  const rhythm = interval === null ? '' : `, every ${plainNumber(interval)} s`;
  const facts: Facts['rows'] = [
    { name: 'Rig', value: words`${given(rig.name)}, version ${rig.version}` },
    {
      name: 'Challenge',
      value: words`${given(rig.challenge.agent)}, nominally ${nominalText(rig.challenge.nominal, unit)}`,
    },
    { name: 'Subject’s place / reference point', value: plain(statedText(rig.spatialFactor, '')) },
    {
      name: 'Photometer',
      value: plain(
        `${rig.photometer}, ${rig.photometerStream} in ` +
          `${stream === undefined ? unit : units[stream.unit].symbol}${rhythm}`,
      ),
    },
    { name: 'Time constant', value: plain(statedText(rig.timeConstantSeconds, 's')) },
    { name: 'Delay in the photometer', value: plain(statedText(rig.instrumentDelaySeconds, 's')) },
    { name: 'Valve to photometer', value: plain(statedText(rig.commonTransitSeconds, 's')) },
    { name: 'Spread of that line', value: plain(`${plainNumber(rig.commonDispersionSeconds)} s`) },
    { name: 'Valve moves in', value: plain(`${plainNumber(rig.valveSwitchingSeconds)} s`) },
    {
      name: 'Lines',
      value: plain(
        rig.bypass ? 'a bypass draws through every line all the time' : 'only the line being read is drawn through',
      ),
    },
    ...(rig.lineLitresPerMinute === undefined
      ? []
      : [{ name: 'Flow in a line', value: plain(`${plainNumber(rig.lineLitresPerMinute)} L/min`) }]),
    { name: 'Saturation', value: plain(nominalText(rig.saturation, unit)) },
    {
      name: 'Heart-rate limit',
      value: heartLimitWords(header),
    },
    {
      name: 'Requirement',
      value: plain(
        header.requirementPercent === undefined ? 'none set' : `at most ${plainNumber(header.requirementPercent)} %`,
      ),
    },
  ];
  const blocks: Block[] = [
    { block: 'facts', rows: facts },
    portTable(rig),
    ...watchedTable([...(header.watch ?? []), ...(rig.watch ?? [])]),
    {
      block: 'table',
      caption: 'Instruments and their connections when the trial began',
      columns: [
        { heading: 'Instrument', align: 'left', width: 2 },
        { heading: 'Kind', align: 'left', width: 2 },
        { heading: 'Wire format', align: 'left', width: 2 },
        { heading: 'Connection', align: 'left', width: 3 },
        { heading: 'Settings', align: 'left', width: 3.4 },
      ],
      rows: instruments.map(({ instrument, kind, dialect, connection }) => [
        { words: plain(instrument) },
        { words: plain(kind) },
        { words: plain(dialect) },
        { words: [given(connection)] },
        { words: settingsOf(rig.instruments.find((one) => one.instrument === instrument)?.settings ?? {}) },
      ]),
      totals: [],
      notes: [],
    },
  ];
  return { id: 'configuration', heading: 'Configuration', joined: true, blocks };
}

function settingsOf(settings: Readonly<Record<string, unknown>>): Words {
  const entries = Object.entries(settings).sort(([one], [other]) => (one < other ? -1 : 1));
  if (entries.length === 0) return plain('all as usual');
  return [given(entries.map(([name, value]) => `${name} ${JSON.stringify(value)}`).join(', '))];
}

function heartLimitWords({ heartRateLimit, heartRateLimitFrom }: TrialHeader): Words {
  if (heartRateLimit === undefined) return plain('none set');
  const limit = plain(`${plainNumber(heartRateLimit)} /min`);
  return heartRateLimitFrom === undefined ? limit : [...limit, ...plain(': '), given(heartRateLimitFrom)];
}

/** Limits that the plan and the rig set, where they set any: each row an alarm of its own. */
function watchedTable(limits: readonly WatchedLimit[]): Table[] {
  if (limits.length === 0) return [];
  return [
    {
      block: 'table',
      caption: 'Watched limits, with who set them',
      columns: [
        { heading: 'Alarm', align: 'left', width: 3 },
        { heading: 'When', align: 'left', width: 4 },
        { heading: 'Set by, or taken from', align: 'left', width: 4 },
      ],
      rows: limits.map((limit): TableCell[] => [
        { words: [given(limit.title)] },
        { words: plain(`${limit.instrument}, ${limit.stream.replaceAll('-', ' ')} ${beyondText(limit)}`) },
        { words: [given(limit.source)] },
      ]),
      totals: [],
      notes: [],
    },
  ];
}

function portTable(rig: Rig): Table {
  const { ports } = rig;
  // A rig that does not say how long its lines are is told as it always was.
  const lines = ports.some(({ boreMillimetres, lineMetres }) => (boreMillimetres ?? lineMetres) !== undefined);
  const stated = (value: number | undefined): TableCell => ({
    words: plain(value === undefined ? '–' : plainNumber(value)),
  });
  const roles: Readonly<Record<Port['role'], string>> = {
    probe: 'probe',
    reference: 'challenge',
    'filtered-air': 'filtered air',
    spare: 'spare',
  };
  return {
    block: 'table',
    caption: 'Ports and lines; values with their standard uncertainty',
    columns: [
      { heading: 'Place', align: 'left', width: 3 },
      { heading: 'Port', align: 'right', width: 1 },
      { heading: 'Is', align: 'left', width: 2 },
      { heading: 'Transit, s', align: 'right', width: 2 },
      { heading: 'Dilution', align: 'right', width: 2 },
      { heading: 'Penetration', align: 'right', width: 2 },
      ...(lines
        ? ([
            { heading: 'Length, m', align: 'right', width: 1.4 },
            { heading: 'Bore, mm', align: 'right', width: 1.3 },
          ] as const)
        : []),
    ],
    rows: ports.map((port): TableCell[] => [
      { words: [given(port.label)], ...(port.role === 'spare' ? {} : { probe: port.probe }) },
      { words: plain(String(port.port)) },
      { words: plain(port.breathingZone === true ? 'probe, breathing zone' : roles[port.role]) },
      { words: plain(statedText(port.transitSeconds, '')) },
      { words: plain(statedText(port.dilution, '')) },
      { words: plain(statedText(port.penetration, '')) },
      ...(lines ? [stated(port.lineMetres), stated(port.boreMillimetres)] : []),
    ]),
    totals: [],
    notes: [
      ...transitRemarks(rig).map((remark) => [given(remark)]),
      plain(
        'Transit: from the probe to the valve. Dilution: total flow through sample flow. Penetration: share of the ' +
          'aerosol ' +
          'that survives the line.',
      ),
    ],
  };
}

/** By code, as recorded: who was in the chamber, and who did what. */
export function peopleSection({ record }: ReportSource): Section {
  const { header, events } = record;
  const deeds = new Map<string, number>();
  for (const event of events) {
    if (!('person' in event)) continue;
    deeds.set(event.person, (deeds.get(event.person) ?? 0) + 1);
  }
  const people = [header.operator, ...[...deeds.keys()].filter((person) => person !== header.operator).sort()];
  return {
    id: 'people',
    joined: true,
    heading: 'People',
    blocks: [
      {
        block: 'table',
        caption: 'People by the codes that were recorded',
        columns: [
          { heading: 'Code', align: 'left', width: 3 },
          { heading: 'Part', align: 'left', width: 2 },
          { heading: 'In the record', align: 'left', width: 4 },
        ],
        rows: [
          [{ words: [given(header.subject)] }, { words: plain('subject') }, { words: plain('wore the ensemble') }],
          ...people.map((person): TableCell[] => {
            const count = deeds.get(person) ?? 0;
            const part = person === header.operator ? 'operator' : 'at the rig';
            return [
              { words: [given(person)] },
              { words: plain(part) },
              { words: plain(counted(count, 'entry', 'entries')) },
            ];
          }),
        ],
        totals: [],
        notes: [
          plain(
            'Codes are what the recording computer was told. Nobody has reviewed or signed this report: signing is ' +
              'not part ' +
              'of the program yet.',
          ),
        ],
      },
    ],
  };
}

/** What the subject did, as planned, and how it went. */
export function seriesSection(source: ReportSource, told: readonly ToldExercise[]): Section {
  const { series } = source.record;
  const went = (one: ToldExercise | undefined): string => {
    if (one?.beganAtMicroseconds == null) return 'not begun';
    const at = `at ${trialTime(one.beganAtMicroseconds)}`;
    const state = one.complete ? 'complete' : 'not completed';
    return one.attempts > 1 ? `${at}, ${state}, attempt ${one.attempts}` : `${at}, ${state}`;
  };
  return {
    id: 'series',
    heading: 'Series',
    blocks: [
      {
        block: 'facts',
        rows: [
          { name: 'Series', value: words`${given(series.name)}, version ${series.version}` },
          { name: 'Source', value: [given(series.source)] },
          {
            name: 'Order of the probes',
            value: plain(`${series.order.kind}, beginning with row ${series.order.offset + 1}`),
          },
        ],
      },
      {
        block: 'table',
        caption: 'Exercises as planned, and how they went',
        columns: [
          { heading: 'Exercise', align: 'left', width: 2.2 },
          { heading: 'The subject was told', align: 'left', width: 3.2 },
          { heading: 'Rest before, s', align: 'right', width: 1.45 },
          { heading: 'Length, s', align: 'right', width: 1.05 },
          { heading: 'Lead-in, s', align: 'right', width: 1.05 },
          { heading: 'Beats /min', align: 'right', width: 1.05 },
          { heading: 'Work, W', align: 'right', width: 1 },
          { heading: 'Went', align: 'left', width: 1.9 },
        ],
        rows: series.exercises.map((one, index): TableCell[] => [
          { words: [{ text: `${index + 1}.\u00a0` }, given(one.name)] },
          { words: [given(one.instruction)] },
          { words: plain(plainNumber(one.restSeconds)) },
          { words: plain(plainNumber(one.durationSeconds)) },
          { words: plain(plainNumber(one.leadInSeconds)) },
          { words: plain(one.cadencePerMinute === null ? '–' : plainNumber(one.cadencePerMinute)) },
          { words: plain(one.workRateWatts === null ? '–' : plainNumber(one.workRateWatts)) },
          { words: plain(went(told[index])) },
        ]),
        totals: [],
        notes: [
          plain(
            'Length includes the lead-in, in which filtered air is read while the air inside settles to the movement.',
          ),
        ],
      },
    ],
  };
}
