import type { Exercise, Series } from '../model/series.ts';

/** A series of the program: to begin one of your own with. It is never overwritten. */
export interface SeriesTemplate {
  readonly series: Series;
  /**
   * What its exercises rest on: our own, a public text as secondary pages give it, or such a text from memory.
   * Never the bought text itself.
   */
  readonly mark: 'own' | 'secondary' | 'memory';
}

/** What the texts leave open and we chose: rests, references, zeros, entry. */
const ours: Pick<Series, 'version' | 'background' | 'entry' | 'closing' | 'order'> = {
  version: 1,
  background: { zeroSeconds: 22, dwellSeconds: 20 },
  entry: {
    minimumSeconds: 60,
    maximumSeconds: 300,
    steadyRangePercent: 10,
    steadyWindowSeconds: 20,
    leastChallengePercent: 50,
  },
  closing: { referenceSeconds: 28, zeroSeconds: 22 },
  order: { kind: 'rotated', offset: 0, forbidden: [] },
};

const pace: Pick<Exercise, 'restZeroSeconds' | 'leadInSeconds' | 'dwellsPerProbe'> = {
  restZeroSeconds: 2,
  leadInSeconds: 20,
  dwellsPerProbe: 1,
};

/** The nine minutes of the text are those after the lead-in. */
function nineMinutes(exercise: string, name: string, instruction: string, more: Partial<Exercise>): Exercise {
  const length = { restSeconds: 60, durationSeconds: 560, cadencePerMinute: null, workRateWatts: null };
  return { ...pace, ...length, exercise, name, instruction, ...more };
}

/** One minute of the text after a lead-in of ours. */
function oneMinute(exercise: string, name: string, instruction: string, more: Partial<Exercise> = {}): Exercise {
  const length = { restSeconds: 30, durationSeconds: 80, cadencePerMinute: null, workRateWatts: null };
  return { ...pace, ...length, exercise, name, instruction, ...more };
}

/** Four minutes on an ergometer at one work rate, dwells split, the reference in the rest before. */
function workStep(workRateWatts: number): Exercise {
  return {
    ...pace,
    exercise: `work-${workRateWatts}`,
    name: `Cycling, ${workRateWatts} W`,
    instruction: 'Pedal evenly, hands on the bar, and look ahead.',
    restSeconds: 40,
    durationSeconds: 240,
    dwellsPerProbe: 2,
    cadencePerMinute: 60,
    workRateWatts,
  };
}

/** Templates beside the series of the virtual rig's scenarios. */
export const seriesTemplates: readonly SeriesTemplate[] = [
  {
    mark: 'secondary',
    series: {
      ...ours,
      name: 'Standing, walking, squatting',
      source:
        'After ISO 13982-2:2004 as a public page gives it: standing, walking, squatting, 9 min each. Walking ' +
        'at 5 km/h and about 5 squats a minute are from memory. Rests, lead-in, references, background and ' +
        'entry are ours. Not the standard: correct a copy by the text once you have it.',
      exercises: [
        nineMinutes('standing', 'Standing', 'Stand still, arms hanging.', { movement: 'stand' }),
        nineMinutes('walking', 'Walking', 'Walk on the treadmill at 5 km/h, arms swinging.', {}),
        nineMinutes('squatting', 'Squatting', 'Squat down, rise and reach up the wall; about five times a minute.', {
          movement: 'knee-bend',
          cadencePerMinute: 5,
        }),
      ],
    },
  },
  {
    mark: 'secondary',
    series: {
      ...ours,
      name: 'Breathing, head and bending exercises',
      source:
        'After 29 CFR 1910.134, appendix A, I.A.14, as public texts quote it: seven exercises of 1 min each. The ' +
        'grimace of 15 s, which is not counted there, is left out. Lead-in, rests, references, background and entry ' +
        'are ours; the text rests nowhere. A template for a mask under an ensemble, not a fit test.',
      exercises: [
        oneMinute('normal-breathing', 'Normal breathing', 'Stand and breathe normally, without talking.', {
          movement: 'stand',
        }),
        oneMinute('deep-breathing', 'Deep breathing', 'Stand and breathe slowly and deeply; do not overdo it.', {
          movement: 'stand',
        }),
        oneMinute('head-side-to-side', 'Head side to side', 'Turn your head from side to side; breathe in there.'),
        oneMinute('head-up-and-down', 'Head up and down', 'Move your head slowly up and down; breathe in looking up.'),
        oneMinute('talking', 'Talking', 'Talk slowly and loud enough to be heard.'),
        oneMinute('bending', 'Bending over', 'Bend at the waist as if to touch your toes.', { movement: 'bend' }),
        oneMinute('normal-breathing-again', 'Normal breathing again', 'Stand and breathe normally, without talking.', {
          movement: 'stand',
        }),
      ],
    },
  },
  {
    mark: 'own',
    series: {
      ...ours,
      name: 'Three work steps',
      source: 'Own series; not a published method. Reference and zero are read before every work step.',
      exercises: [workStep(40), workStep(70), workStep(100)],
    },
  },
];
