import type { RegisterEntry } from '../../src/calibration/register/record.ts';
import type {
  Certificate,
  CertificateStanding,
  CertifiedQuantity,
  RegisteredKind,
  RegisteredPlace,
} from '../../src/model/certificate.ts';
import type { Standing } from '../../src/calibration/check/standing.ts';
import { significant } from './numbers.ts';
import { clockOfDay, dayOf } from './times.ts';

const kinds: Readonly<Record<RegisteredKind, string>> = {
  photometer: 'Photometer',
  'selector-valve': 'Valve',
  'heart-rate': 'Heart-rate belt',
  breathing: 'Breathing logger',
  climate: 'Climate',
  ergometer: 'Ergometer or treadmill',
  contact: 'Contacts',
  'pressure-flow': 'Pressure and flow',
  diluter: 'Diluter',
  'sampling-line': 'Sampling line',
  chamber: 'Chamber',
  other: 'Something else',
};

const quantities: Readonly<Record<CertifiedQuantity, string>> = {
  linearity: 'Linearity',
  scale: 'Scale',
  dilution: 'Dilution',
  penetration: 'Penetration',
  'spatial-factor': 'Spatial factor',
  temperature: 'Temperature',
  humidity: 'Humidity',
  pressure: 'Pressure',
  flow: 'Flow',
  other: 'Other',
};

const standings: Readonly<Record<CertificateStanding | 'none-needed', string>> = {
  valid: 'valid',
  'due-soon': 'due soon',
  expired: 'overdue',
  missing: 'missing',
  'none-needed': 'needs none',
};

/** `1 day`, `3 days`. */
const days = (count: number): string => (count === 1 ? '1 day' : `${count} days`);

/** The register of instruments. */
export const registerWords = {
  title: 'Instruments',
  reading: 'Reading the register …',
  readAgain: 'Read again',
  list: 'What the laboratory has',
  tally: { late: 'overdue or missing', soon: 'due soon', valid: 'valid', none: 'need none' },
  kind: (kind: RegisteredKind) => kinds[kind],
  quantity: (quantity: CertifiedQuantity) => quantities[quantity],
  standing: (standing: CertificateStanding | 'none-needed') => standings[standing],
  checkStanding: (standing: Exclude<Standing, 'valid' | 'due-soon'>) =>
    ({ never: 'never made', overdue: 'overdue', failed: 'failed' })[standing],
  /** @param left whole days; 0 is the last one, negative ones are over. */
  daysLeft: (left: number) =>
    left > 0 ? `${days(left)} left` : left === 0 ? 'last day today' : `over for ${days(-left)}`,
  barHint: 'A bar runs from issue to last day; the upright line is today. What is over is dashed.',
  until: (day: string) => `valid until ${day}`,
  noCertificate: 'no certificate',
  takesNone: 'takes no certificate',
  nowhere: 'in no rig',
  place: (rig: string, at: RegisteredPlace) =>
    at.place === 'chamber' ? `${rig}, chamber` : `${rig}, ${at.place === 'port' ? 'line of ' : ''}${at.name}`,
  gone: 'No longer in the laboratory',
  empty: 'Nothing is registered yet',
  emptyMore:
    'Instruments appear here with their certificates, what needs doing first at the top. ' +
    'Trials then rest on certificates, and say so.',
  altered: (numbers: readonly number[]) =>
    `${numbers.length === 1 ? 'Record' : 'Records'} ${numbers.join(', ')}: not what was stored, or gone.`,
  alteredMore:
    'Left out of everything on this screen and of new trials: a certificate among them counts as missing. Take the ' +
    'laboratory file from a copy, or put down again what is missing.',
  choose: 'Choose an instrument from the list, or add one.',
  add: 'Add an instrument',
  addTitle: 'Add an instrument',
  correct: 'Correct its texts',
  correctTitle: (code: string) => `Correct what is said of ${code}`,
  correctHint: 'Code and kind stay. What was said before stays in the records.',
  enter: 'Enter a certificate',
  enterTitle: (code: string) => `A certificate of ${code}`,
  move: 'Place it',
  moveTitle: (code: string) => `Where ${code} works`,
  retire: 'Retire it',
  retireTitle: (code: string) => `${code} is no longer in the laboratory`,
  retireHint: 'It stays in every record and trial. Its code can be taken up again by adding it anew.',
  withdraw: 'Withdraw',
  withdrawLabel: (number: string, quantity: CertifiedQuantity) =>
    `Withdraw certificate ${number}, ${quantities[quantity]}`,
  withdrawTitle: (number: string) => `Certificate ${number} counts no longer`,
  withdrawHint:
    'For one that was mistyped or was never true. One that is merely old needs no withdrawal: a newer one counts.',
  withdrawAndEnter: 'Withdraw it, then enter the right one',
  withdrawOnly: 'Withdraw it',
  back: 'Back',
  trialKeeps: 'A trial that is prepared or under way keeps the certificates that were frozen with it.',
  fields: {
    instrument: 'Code',
    instrumentHint: 'As it is called here, PH-1. At most 20 letters, digits, . - _',
    kind: 'Kind',
    maker: 'Maker',
    model: 'Model',
    serial: 'Serial number',
    plateHint: 'As on its plate.',
    number: 'Number of the certificate',
    issuer: 'Issued by',
    quantity: 'States the',
    value: 'Value',
    unit: 'Unit',
    unitHint: 'As on the certificate.',
    expandedUncertainty: 'Expanded uncertainty U',
    coverageFactor: 'Coverage factor k',
    coveragePercent: 'Coverage probability',
    coverageHint: 'Where it is stated; “95 %” with k = 2 is usually 95.45.',
    issuedOn: 'Issued on',
    validUntil: 'Valid until',
    dayHint: 'Like 2027-01-31.',
    lastDayHint: 'Its last day, by UTC.',
    reason: 'Why',
    rig: 'Rig',
    at: 'Place in it',
    technician: 'Technician',
    pin: 'PIN',
  },
  enterRight: 'Then enter the right one, beginning with what this one says',
  at: (at: RegisteredPlace) =>
    at.place === 'chamber' ? 'The chamber' : at.place === 'port' ? `Line of ${at.name}` : `Instrument ${at.name}`,
  noPlace: (kind: string) => `This rig has no place for: ${kind.toLowerCase()}. Choose another rig.`,
  placeHint: 'Of one kind there is one at a place: what works there now makes room.',
  holds: (left: number) => `It holds: ${registerWords.daysLeft(left)}.`,
  notADay: 'Not a day. Write it like 2027-01-31',
  nobody: 'Nobody is registered as a technician: only a technician puts something down.',
  toPeople: 'Add one',
  putDown: 'Put it down',
  file: 'A file that came with it is attached by the command line, chamberside instruments.',
  doubt: (standardUncertainty: number, degreesOfFreedom: number | null, unit: string) =>
    `u = U/k = ${significant(standardUncertainty, 3)}${unit === '1' ? '' : `\u00a0${unit}`}` +
    (degreesOfFreedom === null ? '' : `, ${significant(degreesOfFreedom, 2)} degrees of freedom, as k tells`),
  counts: 'An assessment computes with it.',
  countsNot: 'It is kept and printed; an assessment does not compute with it.',
  endedAlready: 'Its last day is over: it is kept, and stands as overdue.',
  otherCounts: (number: string, day: string) => `${number}, issued on ${day}, is newer and goes on counting.`,
  replaces: (number: string) => `${number} stays in the history and counts no longer.`,
  certificates: 'Certificates',
  states: ({ expandedUncertainty, coverageFactor, unit, value }: Certificate) => {
    const symbol = unit === '1' ? '' : `\u00a0${unit}`;
    const printed = (number: number): string => `${number}`.replace('-', '−');
    return `${printed(value)}${symbol}, U = ${printed(expandedUncertainty)}${symbol}, k = ${coverageFactor}`;
  },
  issued: (issuer: string, day: string) => `issued ${day} by ${issuer}`,
  withdrawnBecause: (reason: string) => `withdrawn: ${reason}`,
  replaced: 'replaced by a newer one',
  attached: (name: string, bytes: number) => `${name}, ${Math.max(1, Math.round(bytes / 1024))} kB`,
  checks: 'Checks while it worked in a rig',
  noChecks: (placed: boolean) =>
    placed
      ? 'No check that tells of it has been made since it works there.'
      : 'Place it in a rig: checks of that rig then tell of it.',
  unreadable: (numbers: readonly number[]) =>
    numbers.length === 1
      ? `Check ${numbers.join('')} cannot be read, and is not drawn.`
      : `Checks ${numbers.join(', ')} cannot be read, and are not drawn.`,
  courseOf: (name: string) => `${name}: earlier results with their limits`,
  newest: (at: string, person: string) => `${dayOf(at)} ${clockOfDay(at)}, ${person}`,
  made: (count: number) => (count === 1 ? 'once so far' : `${count} times`),
  records: 'Records',
  record: (entry: RegisterEntry): string => {
    switch (entry.entry) {
      case 'instrument':
        return `${kinds[entry.kind]}: ${entry.maker}, ${entry.model}, ${entry.serial}`;
      case 'certificate':
        return `certificate ${entry.certificate.number}, ${quantities[entry.certificate.quantity].toLowerCase()}`;
      case 'withdrawn':
        return `record ${entry.record} withdrawn: ${entry.reason}`;
      case 'retired':
        return `retired: ${entry.reason}`;
      case 'placed':
        return entry.rig === null || entry.at === null
          ? 'placed in no rig'
          : `placed: ${registerWords.place(entry.rig, entry.at)}`;
    }
  },
  by: (at: string, person: string) => `${dayOf(at)} ${clockOfDay(at)}, ${person}`,
  toRig: 'Instruments and certificates',
} as const;
