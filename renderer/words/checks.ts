import type { Ask } from '../../src/calibration/check/step.ts';
import type { CheckCondition, CheckKind } from '../../src/calibration/check/vocabulary.ts';
import type { Standing } from '../../src/calibration/check/standing.ts';
import type { Unit } from '../../src/model/unit.ts';
import { units } from '../../src/model/unit.ts';
import { limitNumber, significant } from './numbers.ts';
import { clockOfDay, dayOf } from './times.ts';

const names: Readonly<Record<CheckKind, string>> = {
  zero: 'Zero',
  span: 'Span',
  'detection-limit': 'Detection limit',
  linearity: 'Linearity',
  response: 'Response',
  valve: 'Valve',
  dilution: 'Dilution',
  'line-leak': 'Line leak',
  uniformity: 'Uniformity of the chamber',
  belt: 'Belt',
  clock: 'Clocks',
};

const texts: Readonly<Record<CheckKind, string>> = {
  zero: 'Filtered air: what the photometer reads when there is nothing.',
  span: 'Chamber air: what it reads of the challenge.',
  'detection-limit': 'A minute of filtered air: what stands out of its scatter.',
  linearity: 'A calibration source at the chamber’s port, five levels and filtered air against a straight line.',
  response: 'Five steps from chamber air to filtered air: how late and how slowly the photometer follows.',
  valve: 'Every position: does the valve go there, how fast, and does it say so.',
  dilution: 'The probe hangs beside the reference point: how much thinner its air arrives.',
  'line-leak': 'A filter on the probe, challenge around its line: what is read came in on the way.',
  uniformity: 'One probe at nine places in turn, each against the reference.',
  belt: 'The belt against a pulse that somebody counts.',
  clock: 'The rhythm of every instrument, and the machine against a clock that is right.',
};

const figures: Readonly<Record<string, string>> = {
  mean: 'Mean',
  deviation: 'Deviation of a reading',
  'detection-limit': 'Detection limit of 1 s',
  'quantitation-limit': 'Quantitation limit of 1 s',
  'largest-residual': 'Furthest from the line',
  slope: 'Slope',
  intercept: 'Reading at nothing',
  transit: 'Transit',
  'time-constant': 'Time constant',
  'transit-and-time-constant': 'Both together',
  dispersion: 'Dispersion',
  positions: 'Positions confirmed',
  'slowest-answer': 'Slowest answer',
  dilution: 'Dilution',
  'share-of-reference': 'Arrives of the challenge',
  leak: 'Comes in on the way',
  variation: 'Variation',
  'heart-rate': 'Belt says',
  counted: 'Counted',
  difference: 'Difference',
  'machine-clock': 'Machine’s clock is ahead',
};

const standings: Readonly<Record<Standing, string>> = {
  never: 'never made',
  valid: 'passed',
  'due-soon': 'due soon',
  overdue: 'overdue',
  failed: 'failed',
};

export const checkWords = {
  title: 'Checks',
  name: (check: CheckKind): string => names[check],
  text: (check: CheckKind): string => texts[check],
  standing: (standing: Standing): string => standings[standing],
  some: (done: number, all: number): string => `${done} of ${all} lines`,
  runDue: 'Run what is due',
  overdue: 'overdue or failed',
  dueSoon: 'due soon',
  valid: 'valid',
  never: 'never made',
  bars: 'Bars run from done to due; the upright line is today.',
  due: (at: number): string => `due ${dayOf(new Date(at).toISOString())}`,
  earlierVersion: (version: number): string => `on version ${version} of the rig`,
  running: 'running',
  back: 'Back to the rig',
  lines: 'Lines',
  steps: 'Steps',
  challengeAir: 'Uses chamber air: the challenge is on, nobody unprotected is in the chamber.',
  wait: 'Checks run when their instruments are live, somebody is at the rig and no trial is under way.',
  condition: 'State of the rig',
  conditions: { routine: 'as it is used', 'as-found': 'as found', 'as-left': 'as left' } as Readonly<
    Record<CheckCondition, string>
  >,
  conditionHint: 'As found: before anything is touched. As left: after it was adjusted or repaired.',
  validDays: 'Holds for',
  days: 'days',
  begin: 'Begin the check',
  end: 'End the check',
  readsNow: 'Reads now',
  judging: 'The record is being judged',
  goOn: 'It is done: go on',
  minutesLeft: (seconds: number): string =>
    seconds < 90 ? `${Math.ceil(seconds)} s left at least` : `${Math.ceil(seconds / 60)} min left at least`,
  stepName: (part: string): string => partName(part),
  doing: {
    select: 'turning the valve',
    position: 'asking the valve',
    settle: 'settling',
    read: 'reading',
    ask: 'your part',
  },
  ask(ask: Ask, probe: string, place: string | null, virtual: boolean): string {
    const byHand = ask !== 'pulse' && ask !== 'clock';
    return `${asks(probe, place ?? '')[ask]}${virtual && byHand ? ' The virtual rig does it for you.' : ''}`;
  },
  fields: {
    concentration: 'Concentration of the source',
    pulse: 'Counted pulse',
    time: 'Reference clock says, hh:mm:ss',
  } as Readonly<Record<string, string>>,
  notMade: 'Not made yet',
  notMadeMore: 'Begin it below. Everything that is read is kept with the verdict.',
  passed: 'passed',
  failed: 'failed',
  made: (at: string, person: string, condition: CheckCondition): string =>
    `${dayOf(at)} ${clockOfDay(at)}, ${person}, ${checkWords.conditions[condition]}`,
  holdsUntil: (at: number): string => `holds until ${dayOf(new Date(at).toISOString())}`,
  result: 'Result',
  history: 'History',
  foundLeft: 'As found, as left',
  asFound: 'as found',
  asLeft: 'as left',
  found: 'found',
  limits: 'limits',
  quantity: 'Quantity',
  noRecord: 'From before readings of checks were kept: there is nothing to draw.',
  recordOf: (name: string): string => `What the check “${name}” recorded`,
  historyOf: (name: string): string => `${name}, earlier checks with their limits`,
  live: (name: string): string => `${name}, last minute`,
  readings: 'readings',
  fit: 'fit',
  time: 'Time, s',
  known: 'Known concentration',
  figure(name: string): string {
    const known = figures[name];
    if (known !== undefined) return known;
    const [first = '', second = ''] = name.split(' ');
    if (first === 'deviation') return partName(second);
    if (first === 'interval') return `Rhythm of the ${second}`;
    const port = /^answer-(\d+)$/.exec(name)?.[1];
    return port === undefined ? name : `Answer of port ${port}`;
  },
  /** @param unit null where the unit was not kept. */
  value(value: number | null, unit: Unit | null): string {
    if (value === null) return '–';
    const symbol = unit === null ? '' : units[unit].symbol;
    return `${significant(value, 3)}${symbol === '' ? '' : `\u00a0${symbol}`}`;
  },
  /** Limits of a figure beside it, in its unit. */
  limit(low: number | null, high: number | null): string {
    const text = (value: number): string => limitNumber(value, 3);
    if (low !== null && high !== null) return low === -high ? `± ${text(high)}` : `${text(low)} to ${text(high)}`;
    if (low !== null) return `≥ ${text(low)}`;
    return high === null ? '' : `≤ ${text(high)}`;
  },
};

function asks(probe: string, place: string): Readonly<Record<Ask, string>> {
  return {
    'source-level': `Connect the calibration source to the line of ${probe}, set the level, and say what it gives.`,
    'source-away': `Take the source away, and put the line of ${probe} back to its place.`,
    'probe-in-chamber': `Hang the probe of ${probe} beside the reference point.`,
    'probe-back': `Put the probe of ${probe} back to its place.`,
    'filter-on-probe': `Put a filter on the probe of ${probe}, and leave its line in the challenge.`,
    'filter-off-probe': `Take the filter off the probe of ${probe}.`,
    'head-at-place': `Hang the probe of ${probe} at the place: ${partName(place).toLowerCase()}.`,
    'head-back': `Put the probe of ${probe} back to its place.`,
    pulse: 'Count the pulse of whoever wears the belt, for half a minute or more, and say it for one minute.',
    clock: 'Look at a clock that is known to be right. Type a time that is about to come, and go on when it does.',
  };
}

/** `level-3` → `Level 3`. */
function partName(part: string): string {
  const [, word = part, number] = /^([a-z-]+?)-(\d+)$/.exec(part) ?? [];
  const known: Readonly<Record<string, string>> = {
    zero: 'Filtered air',
    blank: 'Filtered air',
    span: 'Chamber air',
    lead: 'Chamber air before fall',
    fall: 'Fall into filtered air',
    reference: 'Chamber reference',
    probe: 'Probe',
    level: 'Level',
    line: 'Line',
    port: 'Port',
    rhythm: 'Rhythm of the readings',
    clock: 'Reference clock',
    belt: 'Belt',
    end: 'Clearing away',
  };
  const found = known[word] ?? `${word.charAt(0).toUpperCase()}${word.slice(1).replaceAll('-', ' ')}`;
  return number === undefined || number === '0' ? found : `${found} ${number}`;
}
