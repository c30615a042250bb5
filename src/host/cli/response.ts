import { trialResponse, type TrialResponse } from '../../leakage/recorded-steps.ts';
import { significant } from '../../model/number-text.ts';
import type { Rig, Stated } from '../../model/rig.ts';
import { readTrial } from '../store/read.ts';
import { programVersion } from '../version.ts';
import { chosenTrial } from './chosen-trial.ts';
import type { Command } from './command.ts';
import { noteAltered } from './note-altered.ts';
import { formatTable } from './table.ts';

export const responseCommand: Command = {
  name: 'response',
  summary: 'transit and time constant from the falls into filtered air of a recorded trial',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'trial, default the only one; with several, they are listed' },
  ],
  notes: [
    'Every zero right after a chamber reference is a step; five are needed. Nothing is stored, and no assessment uses',
    'it: what is stated in the rig is held against it.',
    'Exit status 0: both agree with the rig within twice their uncertainty. 1: one does not, or the trial is not what',
    'was recorded.',
  ],
  run(values, output) {
    const study = values.text('study');
    const { trial } = chosenTrial(study, values.optional('trial'));
    const record = readTrial(study, trial);
    const found = trialResponse(record);
    const intact = noteAltered(study, trial, output);
    const agreement = agreementOf(record.rig, found);
    if (values.json) {
      output.line(JSON.stringify({ program: programVersion, trial, intact, agreement, ...found }));
    } else {
      if (record.header.virtual) output.line('VIRTUAL RIG: no response of a real instrument.');
      output.line(formatResponse(found, agreement));
    }
    return Promise.resolve(intact && agreement.every(({ agrees }) => agrees) ? 0 : 1);
  },
};

interface Agreement {
  readonly quantity: string;
  readonly found: Stated;
  readonly stated: Stated;
  /** Within twice the standard uncertainty of the difference. */
  readonly agrees: boolean;
}

function agreementOf(rig: Rig, { response }: TrialResponse): Agreement[] {
  const transit = {
    value: rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value,
    standardUncertainty: Math.hypot(
      rig.commonTransitSeconds.standardUncertainty,
      rig.instrumentDelaySeconds.standardUncertainty,
      // When the valve arrived is known to its own time of movement.
      rig.valveSwitchingSeconds / 2,
    ),
  };
  return [
    compared('transit of the common line with the delay inside', response.transitSeconds, transit),
    compared('time constant', response.timeConstantSeconds, rig.timeConstantSeconds),
  ];
}

function compared(quantity: string, found: Stated, stated: Stated): Agreement {
  const doubt = Math.hypot(found.standardUncertainty, stated.standardUncertainty);
  return { quantity, found, stated, agrees: Math.abs(found.value - stated.value) <= 2 * doubt };
}

function formatResponse({ steps, response }: TrialResponse, agreement: readonly Agreement[]): string {
  const seconds = ({ value, standardUncertainty }: Stated): string =>
    `${significant(value, 4)} ± ${significant(standardUncertainty, 2)} s`;
  const table = formatTable(
    [
      { heading: 'dwell', align: 'right' },
      { heading: 'transit s', align: 'right' },
      { heading: 'dispersion s', align: 'right' },
      { heading: 'time constant s', align: 'right' },
      { heading: 'remark', align: 'left' },
    ],
    steps.map(({ dwell, fit, reason }) =>
      fit === null
        ? [String(dwell), '–', '–', '–', reason ?? '']
        : [
          String(dwell),
          significant(fit.transitSeconds, 4),
          significant(fit.dispersionSeconds, 3),
          significant(fit.timeConstantSeconds, 4),
          fit.reason ?? '',
        ],
    ),
  );
  return [
    table,
    '',
    ...agreement.map(
      ({ quantity, found, stated, agrees }) =>
        `${quantity}: ${seconds(found)}; the rig says ${seconds(stated)}: ` +
        (agrees ? 'they agree' : 'THEY DO NOT AGREE'),
    ),
    `transit and time constant together: ${seconds(response.sumSeconds)}`,
  ].join('\n');
}
