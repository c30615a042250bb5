import { counted, nbsp } from './numbers.ts';

/** The words of a report. English for now; one place, so that another language is another table. */
export const reportWords = {
  noResult: 'no result',
  endedEarly: 'The trial was ended before its series was done: what was not seen is not in these numbers.',
  stoppedBySubject: 'The subject stopped it.',
  noInterval: 'not known',
  virtual: 'Virtual rig: no real ensemble was tested, and this is no result about one.',
  virtualShort: 'Virtual data, cannot be signed',

  figure: {
    resultTitle: 'Leakage of every exercise at every probe',
    resultDescription: (values: string) => `${values} on a log scale, probes from top to bottom. Means:`,
    allowed: (percent: string) => `Allowed: ${percent}.`,
    mean: 'mean',
    aboveRequirement: 'above the requirement',
    requirement: (percent: string) => `requirement ${percent}`,
    missing: (count: number) => `${count} missing`,
    caption:
      'Inward leakage of the air seen, log scale. Dot: one exercise. Upright bar: mean of the probe. Hollow: in ' +
      'doubt. ' +
      'Dotted ground: below the detection limit, where place means nothing.',
  },

  heart: {
    heading: 'Heart rate',
    caption: 'Heart rate in each exercise, per minute',
    none: 'The rig has a belt, and nothing was read from it.',
    age: 'The record holds no age of the subject: nothing here is compared to a limit by age.',
    refused: (readings: string) => `${readings} outside 30 to 230 per minute count in nothing.`,
  },
  breath: {
    heading: 'Breath',
    caption: 'Breath in each exercise: mean rate, volume of a breath, ventilation, times in and out',
    none: 'The rig has an instrument for the flow of breath, and nothing was read from it.',
    measured: 'Volumes as the instrument measured them, not converted to body temperature and pressure.',
    refused: (breaths: string) => `${breaths} outside 4 to 80 a minute or 0.1 to 5 L count in nothing.`,
  },
  received: {
    heading: 'What was received',
    caption: 'Readings of every instrument over the whole trial',
    note:
      'Every: mean time between readings by the clock of the recorder, silences left out; beside the expected one it ' +
      'shows an instrument whose own clock runs fast or slow. Silences are longer than three expected intervals and ' +
      '0.25 s. Breaks of the recording count in none of these. Problems are those of the instrument as a whole.',
  },
  trace: {
    title: (from: string, to: string) => `Photometer reading from ${from} to ${to} of the trial`,
    description: (exercises: readonly string[], windows: number, gaps: number) =>
      [
        exercises.length === 0 ? 'No exercise.' : `Exercises: ${exercises.join(', ')}.`,
        `${counted(windows, 'window', 'windows')}.`,
        gaps === 0 ? 'No gap.' : `${counted(gaps, 'gap', 'gaps')}.`,
      ].join(' '),
    caption: (from: string, to: string) => `${from} to ${to}`,
    legend:
      'Photometer reading on a log scale over the time of the trial. Grey ground: exercise. White block with the ' +
      'mark of ' +
      'a probe: the window whose air was used, its readings drawn strong. Thin line: filtered air, chamber, and air ' +
      'that had not settled. Hatched frame: no reading; no line goes through it. Readings at or below zero have no ' +
      'place on a log scale and are left out.',
    none: 'The record holds no photometer reading that has a place on a log scale.',
  },

  gap: {
    wake: 'The machine slept',
    restart: 'The program did not run',
    lost: (instrument: string) => `${instrument} was not connected`,
    silent: (instrument: string) => `${instrument} sent nothing that could be read`,
  },

  happened: {
    action: (action: string, bySubject: boolean) =>
      `${bySubject ? 'Subject' : 'Operator'}: ${action.replaceAll('-', ' ')}`,
    restLengthened: (exercise: string, seconds: number) => `Rest before ${exercise} ${seconds}${nbsp}s longer`,
    valveByHand: (port: number) => `Valve turned by hand to port ${port}`,
    mark: 'Marked',
    phase: (phase: string) => `Trial ${phase}`,
    alarm: (kind: string, alarm: string, instrument: string | null) =>
      [
        kind === 'alarm-raised' ? 'Alarm:' : kind === 'alarm-cleared' ? 'Alarm over:' : 'Alarm acknowledged:',
        alarm,
        ...(instrument === null ? [] : [`(${instrument})`]),
      ].join(' '),
    problem: (code: string, instrument: string) => `${instrument}: ${code.replaceAll('-', ' ')}`,
    unconfirmed: (port: number) => `Valve: port ${port} not confirmed`,
    cutShort: (dwell: number) => `Dwell ${dwell} cut short`,
    timeLost: (cause: string, seconds: string) =>
      `${cause === 'sleep' ? 'The machine slept' : 'The program stood still'} for ${seconds}${nbsp}s`,
    clockSet: (seconds: string) => `Wall clock set by ${seconds.replace('-', '−')}${nbsp}s`,
  },
};
