import type { Burden, Obstacle } from '../rig/readiness.ts';
import { clockOfDay, dayOf } from './times.ts';

const stateNames = {
  unconnected: 'not connected',
  connecting: 'connecting',
  unreached: 'not reached',
  live: 'live',
  silent: 'silent',
  lost: 'lost',
} as const;

interface ContactWords {
  readonly name: string;
  readonly rest: string;
  readonly active: string;
}
const contactWords: Readonly<Record<string, ContactWords>> = {
  stop: { name: 'Stop', rest: 'at rest', active: 'pressed' },
  'foot-stop': { name: 'Foot stop', rest: 'at rest', active: 'pressed' },
  door: { name: 'Door', rest: 'closed', active: 'open' },
};

export const rigWords = {
  title: 'Rig',
  airPath: 'Air path',
  probe: 'Probe',
  transit: 'Transit',
  dilution: 'Dilution',
  penetration: 'Penetration',
  line: 'Line',
  bore: (millimetres: string) => `${millimetres} mm`,
  lineNotStated: 'not stated',
  ofVolume: 'Of volume',
  lineMore: (millilitres: string, reynolds: string, flow: string) => `${millilitres} mL, Re ${reynolds}, ${flow}`,
  transitRemarks: 'Transit and line',
  timeConstant: (seconds: string) => `Time constant ${seconds} s`,
  fromValve: (seconds: string) => `From the valve ${seconds} s`,
  lineFlow: (litresPerMinute: string) => `Flow in a line ${litresPerMinute} L/min`,
  port: 'Port',
  chamber: 'Chamber',
  filter: 'Filter',
  valve: 'Valve',
  photometer: 'Photometer',
  noProbe: 'No probe',
  airNow: (label: string, port: number) => `Air flows from ${label}, port ${port}`,
  airAsked: (label: string, port: number) => `The valve moves to ${label}, port ${port}`,
  airUnconfirmed: (port: number) => `Port ${port} was asked for and not confirmed: no air counts`,
  airUnknown: 'Where the valve stands is not known',
  notConfirmed: 'not confirmed',
  moving: 'moving',
  reads: 'Reads',
  noReading: 'no reading',
  perSecond: (rate: string) => `${rate} readings/s`,
  answered: (milliseconds: number) => `${Math.round(milliseconds)} ms`,
  byHand: 'Valve by hand',
  byHandOn: 'Choose a port: 1 to 9, or Tab and Enter',
  byHandEnd: 'Leave the valve',
  byHandTrial: 'Valve by hand: only while the trial is held',
  selectPort: (port: number, label: string) => `Turn the valve to port ${port}, ${label}`,
  change: 'Change the rig',
  close: 'Close the rig',
  closeTrial: 'Close after the trial',
  version: (version: number) => `version ${version}`,
  stored: 'stored with every trial',

  versions: 'Versions',
  versionsTitle: (name: string) => `Versions of ${name}`,
  versionsBack: 'Back to the rig',
  versionOf: (version: number, keptAt: string) => `version ${version}, kept ${dayOf(keptAt)} ${clockOfDay(keptAt)}`,
  versionFrom: 'Before',
  versionTo: 'After',
  oneVersion: 'There is one version only: nothing has been changed yet.',
  changes: (count: number) =>
    count === 0
      ? 'Nothing differs but the number.'
      : count === 1
        ? 'One thing differs.'
        : `${count} things differ.`,
  changeHeadings: ['Of', 'What', 'Before', 'After'],
  notThere: '–',
  versionsMore:
    'A trial keeps the version that it was recorded on. Where the instruments are connected is no part of it.',

  instruments: 'Instruments',
  kind: {
    photometer: 'Photometer',
    'selector-valve': 'Selector valve',
    'heart-rate': 'Belt',
    contact: 'Contacts',
    ergometer: 'Ergometer',
    treadmill: 'Treadmill',
  } as Readonly<Record<string, string>>,
  state: stateNames,
  wire: (connection: string | null, dialect: string) => `${connection ?? 'no connection'} · ${dialect}`,
  contact: (stream: string, value: number): string => {
    const known = contactWords[stream];
    return known === undefined ? `${stream} ${value}` : `${known.name} ${value === 0 ? known.rest : known.active}`;
  },
  readings: (count: number) => (count === 1 ? '1 reading' : `${count} readings`),
  problems: (count: number) => (count === 1 ? '1 problem' : `${count} problems`),
  cameBack: (count: number) => (count === 1 ? 'came back once' : `came back ${count} times`),
  lastMinute: (name: string) => `${name}, last minute`,
  noStream: 'Gives no readings: it answers when it is asked.',
  retry: 'Try again now',
  otherPort: 'Use another port',
  connect: 'Connect it',
  connectTitle: (name: string) => `Where is the ${name.toLowerCase()}?`,
  connection: 'Connection',
  connectionKind: { none: 'not said yet', serial: 'serial line', tcp: 'network (TCP)' },
  path: 'Port of the machine',
  pathHint: 'Choose one that the machine offers, or type its name.',
  baudRate: 'Baud rate',
  host: 'Host',
  tcpPort: 'TCP port',
  useIt: 'Use it',
  cancel: 'Cancel',

  canStart: 'A trial can start.',
  cannotStart: 'A trial cannot start yet.',
  carries: 'It will carry:',
  carriesNothing: 'Nothing is overdue.',
  obstacle: (obstacle: Obstacle, instrumentName: (instrument: string) => string): string => {
    switch (obstacle.kind) {
      case 'no-rig':
        return 'No rig is open.';
      case 'rig-not-open':
        return 'The rig is not open yet.';
      case 'instrument-not-live':
        return `${instrumentName(obstacle.instrument)} is ${stateNames[obstacle.state]}.`;
      case 'trial-under-way':
        return 'A trial is under way.';
      case 'check-running':
        return 'A check is running.';
      case 'nobody':
        return 'Nobody is at the rig: say who is.';
    }
  },
  burden: (burden: Burden): string => {
    switch (burden.kind) {
      case 'check-missing':
        return `${burden.check} check not made`;
      case 'check-failed':
        return `${burden.check} check failed`;
      case 'check-overdue':
        return `${burden.check} check overdue by ${burden.days === 1 ? '1 day' : `${burden.days} days`}`;
      case 'certificate':
        return burden.missing
          ? `no certificate of ${burden.certificate}`
          : `certificate ${burden.certificate} has ended`;
      case 'earlier-version':
        return burden.checks === 1
          ? 'a check made before the rig was changed'
          : `${burden.checks} checks made before the rig was changed`;
      case 'valve-unconfirmed':
        return 'valve position not confirmed';
      case 'virtual':
        return 'the mark “virtual”: it cannot be signed as a real result';
      case 'no-stop-contact':
        return 'no stop contact in the subject’s hand';
      case 'software-port':
        return 'no mark “virtual”, although a port is that of a program here: mark the rig if it is simulated';
    }
  },
  plan: 'Plan a trial',
  sayWho: 'Say who is at the rig',

  closedTitle: 'No rig is open',
  closedText: 'Open a rig of this laboratory, start the virtual one, or set up the instruments in front of you.',
  rigs: 'Rigs of this laboratory',
  noRigs: 'None yet. The first one is set up once and kept with every later change.',
  open: (name: string) => `Open ${name}`,
  setUp: 'Set up a rig of instruments',
  withoutInstruments: 'Without instruments',
  startVirtual: 'Start the virtual rig',
  scenario: 'Scenario',
  seed: 'Seed',
  seedHint: 'Empty: another one every time. The same seed gives the same trial.',
  opening: (name: string) => `Opening ${name}`,
  closing: (name: string) => `Closing ${name}`,
  openingText: 'Instruments are asked one by one.',
  instrumentsLive: (live: number, all: number) => `${live} of ${all} instruments answer`,
};

export const editorWords = {
  title: (first: boolean) => (first ? 'Set up a rig of instruments' : 'Change the rig'),
  lead:
    'Everything a result rests on. Saving makes a new version; trials that were recorded keep the one they had. ' +
    'The numbers are those of a rig like the demonstration: put in your own.',
  name: 'Name of the rig',
  virtual: 'Virtual rig: its instruments exist only in software',
  virtualHint: 'Its trials and their results are marked as virtual everywhere.',
  softwarePort: 'A port here belongs to a program of this machine. Tick this if that is the virtual rig.',
  instruments: 'Instruments',
  ports: 'Ports',
  portsText:
    'In body order, from top to bottom. Transit is the time from the probe to the valve. Length and inner diameter ' +
    'of the line may be left empty; with the flow through a line they tell whether the transit can be right.',
  numbers: 'The rig as a whole',
  dialect: (dialect: string) => `speaks ${dialect}`,
  another: 'Another instrument',
  anotherHint: 'A stop contact for the subject, a door, climate, breathing, and what else there is.',
  add: 'Add it',
  remove: (instrument: string) => `Remove ${instrument}`,
  settings: 'Wire settings (JSON)',
  settingsHint: 'Empty braces mean the defaults of the dialect. Checked again when the rig is opened.',
  port: 'Port',
  role: 'Role',
  roleNames: {
    probe: 'probe',
    'breathing-zone': 'probe, breathing zone',
    reference: 'chamber',
    'filtered-air': 'filtered air',
    spare: 'no probe',
  },
  label: 'Name shown',
  probe: 'Name in results',
  transit: 'Transit, s',
  dilution: 'Dilution',
  penetration: 'Penetration',
  length: 'Length, m',
  bore: 'Bore, mm',
  lineFlow: 'Flow through a line, empty if not known',
  litresPerMinute: 'L/min',
  uncertainty: 'standard uncertainty',
  of: (field: string, port: string) => `${field}, port ${port}`,
  uncertaintyOf: (field: string, port: string) => `${field}, standard uncertainty, port ${port}`,
  addPort: 'Add a port',
  removePort: (port: string) => `Remove port ${port}`,
  timeConstantSeconds: 'Time constant of the photometer',
  instrumentDelaySeconds: 'Delay inside the photometer',
  commonTransitSeconds: 'Transit from valve to photometer',
  spatialFactor: 'Challenge at the subject’s place ÷ at the reference',
  commonDispersionSeconds: 'Dispersion of the common line',
  valveSwitchingSeconds: 'Time the valve needs to move',
  saturation: 'Reading at which the photometer saturates',
  nominal: 'Nominal challenge',
  exchange: 'Air change time of the chamber, empty if not known',
  agent: 'Challenge agent',
  bypass: 'A bypass draws through every line all the time',
  guardLoad: 'Guard: load to zero when the program is silent',
  guardValve: 'Guard: valve to filtered air when the program is silent',
  save: 'Save as a new version and open it',
  saving: 'Saving',
  problems: (count: number) =>
    count === 1 ? 'One field keeps the rig from being saved.' : `${count} fields keep the rig from being saved.`,
  cancel: 'Leave it as it was',
  seconds: 's',
};
