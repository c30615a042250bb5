import type { LaneView, NowView, TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';

/** Names of probes as they are spoken; a probe that the words do not know is named by the rig. */
const stages: Readonly<Record<NowView['kind'], string>> = {
  prepared: 'Ready',
  background: 'Background',
  waiting: 'Waiting for a steady challenge',
  rest: 'Rest',
  'lead-in': 'Lead-in',
  exercise: 'Exercise',
  closing: 'Closing readings',
  held: 'Held',
  stopped: 'Stopped',
  closed: 'Closed',
};

const airWords: Readonly<Record<NowView['air'], string>> = {
  none: '',
  moving: 'valve moving',
  transit: 'on its way',
  settling: 'settling',
  usable: 'usable',
  unconfirmed: 'not confirmed',
  'no-reading': 'no reading',
};

const heldWords: Readonly<Record<NonNullable<TrialSnapshot['heldBecause']>, string>> = {
  operator: 'held by the operator',
  'challenge-unsteady': 'the challenge is not steady',
  late: 'the program came too late for a port',
  interrupted: 'the recorder was away',
};

/** Words of the console. */
export const trialWords = {
  stage: (kind: NowView['kind']): string => stages[kind],
  air: (air: NowView['air']): string => airWords[air],
  heldBecause: (why: TrialSnapshot['heldBecause']): string => (why === null ? '' : heldWords[why]),
  exerciseOf: (number: number, all: number) => `Exercise ${number} of ${all}`,
  restBefore: (name: string) => `Rest before ${name}`,
  leadIn: 'lead-in',
  heldFor: 'held for',
  waitingFor: 'waiting',
  next: 'Next',
  end: 'End of the series',
  then: 'then',
  goOnTitle: 'To go on',
  startTitle: 'To start',
  goOnHow: 'then',
  subjectReady: 'Subject in place and fit? Second person within call?',
  goOn: 'Go on',
  start: 'Start',
  pressEnter: 'Now Enter',
  armed: 'Press Enter within five seconds, or Esc',
  startCaution:
    'Exertion in an encapsulating ensemble can hurt. This program watches and warns; it is no medical device. ' +
    'Local rules, the responsible person and medical supervision come first.',
  fanCaution: 'Breathing air, fan and carbon dioxide are not measured here: fan off means stop and open the ensemble.',
  stoppedTitle: 'Stopped',
  stoppedAct: 'Keep moving gently or sit down. Open the ensemble if the subject is unwell.',
  close: 'Close the trial',
  closeMore: 'What was recorded is kept. Closing seals it and works out the result.',
  closing: 'Sealing the record …',
  assessing: 'Working out the result …',
  endedTitle: 'The trial is closed and sealed',
  toResult: 'To the result',
  leave: 'Leave the trial',
  endingFailed: 'The end of the trial did not succeed',
  port: (port: number) => `Port ${port}`,
  ago: (text: string) => `${text} ago`,
  measuring: 'measuring',
  settlingLane: 'settling',
  notYet: 'not yet',
  noResult: 'no result',
  usable: (seconds: number, planned: number) => `${Math.floor(seconds)} of ${Math.round(planned)} s usable`,
  enough: 'enough',
  moreSeconds: (seconds: number) => `${Math.ceil(seconds)} s more`,
  provisional: '% of challenge, provisional, log scale.',
  lineRequirement: 'Line: requirement.',
  dotsLimit: 'Dots: detection limit.',
  challenge: 'Challenge',
  chamber: 'Chamber',
  filteredAir: 'Filtered air',
  heartRate: 'Heart rate',
  perMinute: '/min',
  limitAt: (limit: number) => `limit ${limit}`,
  belowLimit: (limit: number, below: number) => `limit ${limit} /min · ${below} below`,
  aboveLimit: (limit: number, above: number) => `limit ${limit} /min · ${above} above`,
  noLimit: 'no limit set',
  lastMinutes: (minutes: number) => `last ${minutes} min`,
  noBelt: 'no belt on this rig',
  noReading: 'no reading',
  noReadingSince: (time: string, seconds: number) => `No reading since ${time}, ${Math.floor(seconds)} s`,
  change: (percent: number) => `${percent >= 0 ? '+' : '−'}${Math.abs(percent).toFixed(1)} % since the first`,
  notMeasured: 'not measured yet',
  notConnected: 'not connected',
  elapsed: 'Trial time',
  endsAt: (time: string) => `ends at ${time}`,
  requirement: 'Requirement',
  noRequirement: 'none set',
  highestValue: 'Highest so far',
  readings: 'Readings',
  problems: (count: number) => (count === 1 ? '1 problem' : `${count} problems`),
  dwells: (count: number) => (count === 1 ? '1 dwell' : `${count} dwells`),
  done: 'done',
  skipped: 'skipped',
  left: (text: string) => `${text} left`,
  repeated: (times: number) => `begun ${times} times`,
  hold: 'Hold',
  mark: 'Mark',
  repeat: 'Repeat',
  skip: 'Skip',
  valve: 'Valve by hand',
  oneAxis: 'One axis',
  lanesView: 'Lanes',
  stop: 'STOP',
  markTitle: (time: string) => `Marked at ${time}`,
  markNote: 'What was it? The mark is kept without a note as well.',
  markKeep: 'Keep the note',
  markPrefix: (time: string, note: string) => `To the mark at ${time}: ${note}`,
  valveTitle: 'Valve by hand',
  valveHint: 'Only in a hold. Nothing that is read by hand enters a result.',
  valveNow: (port: number) => `on port ${port}`,
  panelClose: 'Close',
  refused: 'Not now',
  lanes: 'Probes, in the order of the body',
  timeline: 'Series',
  alarms: 'Alarms',
  hands: 'What can be done now',
} as const;

/** What a lane says of its value beside the number. */
export function laneState(lane: LaneView): string {
  switch (lane.state) {
    case 'not-yet':
      return trialWords.notYet;
    case 'settling':
      return trialWords.settlingLane;
    case 'measuring':
      return trialWords.measuring;
    case 'no-result':
      return trialWords.noResult;
    case 'waiting':
      return '';
  }
}
