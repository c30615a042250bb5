import type { Requirement } from './requirement.ts';

/** Rules of published texts, as far as public pages or memory give them. Edit a copy once the text has been bought. */
export const publishedRequirements: readonly Requirement[] = [
  {
    name: 'iso-13982-1',
    title: 'Suits against airborne solid particulates (type 5): 82 of 90 values ≤ 30 %, 8 of 10 suit means ≤ 15 %',
    edition: 'ISO 13982-1:2004 with A1:2010',
    source: 'memory; 8 of 10 ≤ 15 % is echoed by a secondary page',
    basis: 'memory',
    ensembles: { exactly: 10 },
    valuesPerEnsemble: 9,
    rules: [
      { rule: 'rank', of: 'single-values', atLeast: 82, among: 90, limitPercent: 30, equality: 'passes' },
      { rule: 'rank', of: 'ensemble-means', atLeast: 8, among: 10, limitPercent: 15, equality: 'passes' },
    ],
  },
  {
    name: 'en-1073-2',
    title: 'Unventilated suits against particulate radioactive contamination: classes 1 to 3',
    edition: 'EN 1073-2:2002',
    source: 'three secondary summaries, which agree and print "<"; whether equality passes is in the standard',
    basis: 'secondary',
    ensembles: { atLeast: 6 },
    valuesPerEnsemble: 9,
    rules: [
      {
        rule: 'classes',
        equality: 'not-stated',
        classes: [
          { class: '3', highestExercisePercent: 0.3, overallPercent: 0.2 },
          { class: '2', highestExercisePercent: 3, overallPercent: 2 },
          { class: '1', highestExercisePercent: 30, overallPercent: 20 },
        ],
      },
    ],
  },
  {
    name: 'en-1073-1',
    title: 'Ventilated suits against particulate radioactive contamination: classes 1 to 5',
    edition: 'EN 1073-1, edition not known',
    source: 'memory, of medium confidence; the number of suits is not known',
    basis: 'memory',
    ensembles: { atLeast: 1 },
    valuesPerEnsemble: null,
    rules: [
      {
        rule: 'classes',
        equality: 'not-stated',
        classes: [
          { class: '5', highestExercisePercent: 0.004, overallPercent: 0.002 },
          { class: '4', highestExercisePercent: 0.01, overallPercent: 0.005 },
          { class: '3', highestExercisePercent: 0.02, overallPercent: 0.01 },
          { class: '2', highestExercisePercent: 0.04, overallPercent: 0.02 },
          { class: '1', highestExercisePercent: 0.1, overallPercent: 0.05 },
        ],
      },
    ],
  },
  {
    name: 'en-943-1',
    title: 'Gas-tight suits: inward leakage ≤ 0.05 %',
    edition: 'EN 943-1:2002 annex A',
    source: 'memory; which mean the limit is for, and the number of suits, are not known',
    basis: 'memory',
    ensembles: { atLeast: 1 },
    valuesPerEnsemble: null,
    rules: [
      { rule: 'highest-exercise-mean', limitPercent: 0.05, equality: 'passes' },
      { rule: 'overall-mean', limitPercent: 0.05, equality: 'passes' },
    ],
  },
  ...([
    ['1', 25, 22],
    ['2', 11, 8],
    ['3', 5, 2],
  ] as const).map(
    ([number, single, mean]): Requirement => ({
      name: `en-149-ffp${number}`,
      title: `Filtering half masks, class ${number}: 46 of 50 values ≤ ${single} %, 8 of 10 wearer means ≤ ${mean} %`,
      edition: 'EN 149, edition not known',
      source: 'means: secondary pages; single values and both ranks: memory, of high confidence',
      basis: 'memory',
      ensembles: { exactly: 10 },
      valuesPerEnsemble: 5,
      rules: [
        { rule: 'rank', of: 'single-values', atLeast: 46, among: 50, limitPercent: single, equality: 'passes' },
        { rule: 'rank', of: 'ensemble-means', atLeast: 8, among: 10, limitPercent: mean, equality: 'passes' },
      ],
    }),
  ),
];
