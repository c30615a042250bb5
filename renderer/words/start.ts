import { clockOfDay, dayOf, minutesAndSeconds } from './times.ts';

export const startWords = {
  lead:
    'Runs an inward-leakage trial beside the chamber: watches the subject, turns the valve, keeps every reading, ' +
    'and says how sure the answer is.',
  notThis:
    'Chamberside watches and warns. It is not a medical device and does not replace the person watching the subject, ' +
    'medical screening, or the local exposure limits.',
  unfinishedTitle: (study: string) => `A trial of “${study}” was running when the program ended`,
  unfinishedText: (subject: string, ensemble: string, seconds: number, at: string) =>
    `${subject}, ${ensemble}, begun ${dayOf(at)} at ${clockOfDay(at)}. ` +
    `Everything up to ${minutesAndSeconds(seconds)} of the trial is kept.`,
  unfinishedVirtual: 'It ran on the virtual rig.',
  takeUp: 'Back to it, held',
  leave: 'Leave it',
  left: (count: number) => (count === 1 ? 'unfinished trial' : `${count} unfinished trials`),

  virtualTitle: 'Start the virtual rig',
  virtualText: 'A chamber, a valve, a photometer and a subject in software. Run a whole trial; nobody is hurt.',
  scenario: 'Scenario',
  scenarioChoice: (label: string, seconds: number) => `${label}, ${minutesAndSeconds(seconds)}`,
  noScenario: 'No scenario came with this program. Install it again.',
  openingTitle: 'The rig is opening',
  openingText: 'Every instrument is being asked. This takes a few seconds.',
  planTitle: 'Plan a trial',
  planFirstTitle: 'Plan a first trial',
  planText: (rig: string) => `${rig} is open. Choose the study, the subject and the series.`,
  consoleTitle: 'Back to the console',
  consoleText: (subject: string, ensemble: string) => `The trial of ${subject} in ${ensemble} is under way.`,
  ownTitle: 'Use instruments',
  ownText: (rigs: number) =>
    rigs === 0
      ? 'Say which instrument is on which port, once; it is kept with the laboratory.'
      : rigs === 1
        ? 'Open the rig of this laboratory, or set up another.'
        : `Open one of the ${rigs} rigs of this laboratory, or set up another.`,

  openText: 'Air path, instruments, zero and span; or close it and open another.',

  studies: 'Studies',
  newStudy: 'New study',
  studyName: 'Name of the study',
  studyNameHint: 'What is compared, as it will stand on the report. It becomes the name of a file.',
  create: 'Create it',
  cancel: 'Cancel',
  readAgain: 'Read the folder again',
  folder: (folder: string) => `Study files in ${folder}`,
  noStudiesTitle: 'No studies yet',
  noStudiesText: 'A study is one file with all its trials. Studies of this folder appear here, newest first.',
  noTrials: 'no trials yet',
  trials: (count: number, voids: number) =>
    `${count === 1 ? '1 trial' : `${count} trials`}${voids === 0 ? '' : `, ${voids} void`}`,
  ensembles: (ensembles: number, subjects: number) =>
    `${ensembles === 1 ? '1 ensemble' : `${ensembles} ensembles`}, ` +
    (subjects === 1 ? '1 subject' : `${subjects} subjects`),
  allVirtual: 'virtual',
  standing: {
    'under-way': 'under way',
    interrupted: 'unfinished',
    closed: 'not sealed yet',
    sealed: 'not assessed yet',
    assessed: 'assessed',
  },
  trialLabel: (subject: string, ensemble: string, standing: string) => `${subject}, ${ensemble}: ${standing}`,
  flaggedCells: (flagged: number, all: number) => (flagged === 0 ? 'no flags' : `${flagged} of ${all} cells flagged`),

  noRig: 'No rig is open',
  noRigText: 'Open one to plan a trial.',
  rigFailed: 'The rig did not open',
  answering: (known: number, live: number) =>
    [
      known === 1 ? '1 instrument known' : `${known} instruments known`,
      live === 1 ? '1 answers now' : `${live} answer now`,
    ].join(', '),
  toRig: 'Go to the rig',
};
