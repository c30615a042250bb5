import { toSeconds } from '../../model/time.ts';
import type { InstrumentComparison } from '../replay/compare.ts';
import { replayBytes } from '../replay/replay-bytes.ts';
import { programVersion } from '../version.ts';
import { chosenTrial } from './chosen-trial.ts';
import type { Command } from './command.ts';
import { noteAltered } from './note-altered.ts';
import { formatTable } from './table.ts';

/** Differences of one instrument that are printed; all of them are counted, and stand in the JSON. */
const mostPrinted = 20;

export const replayCommand: Command = {
  name: 'replay',
  summary: 'run the stored bytes of a trial through the drivers again and compare',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'trial, default the only one; with several, they are listed' },
  ],
  notes: [
    'Compares every reading (time and value, to the last bit), every problem that comes from bytes, and every port',
    'that the valve confirmed. Reads only.',
    'Exit status 0: the bytes say what is stored. 1: they do not, and the differences are listed, or the trial is not',
    'what was recorded.',
  ],
  async run(values, output) {
    const study = values.text('study');
    const { trial, state } = chosenTrial(study, values.optional('trial'));
    const intact = noteAltered(study, trial, output);
    const instruments = await replayBytes(study, trial);
    const differences = instruments.reduce((sum, one) => sum + one.differences.length, 0);
    const { virtual } = state.summary.header;
    if (values.json) {
      const of = { trialId: trial, program: programVersion, virtual, sealed: state.summary.sealed !== null, intact };
      output.line(JSON.stringify({ ...of, differences, instruments }));
    } else {
      output.line(`trial ${trial}, bytes decoded by Chamberside ${programVersion}`);
      output.line(table(instruments));
      for (const instrument of instruments) for (const line of listed(instrument)) output.line(line);
      output.line(differences === 0 ? 'The bytes say what is stored.' : `${differences} DIFFERENCES.`);
    }
    return differences === 0 && intact ? 0 : 1;
  },
};

function table(instruments: readonly InstrumentComparison[]): string {
  const headings = ['bytes in', 'bytes out', 'readings', 'problems', 'ports', 'differences'];
  return formatTable(
    [{ heading: 'instrument', align: 'left' }, ...headings.map((heading) => ({ heading, align: 'right' as const }))],
    instruments.map((one) => [
      one.instrument,
      ...[one.receivedBytes, one.sentBytes, one.readings, one.problems, one.confirmations, one.differences.length].map(
        String,
      ),
    ]),
  );
}

function listed({ atEdge, differences, instrument }: InstrumentComparison): string[] {
  const more = differences.length - mostPrinted;
  return [
    ...differences.slice(0, mostPrinted).map(({ atMicroseconds, decoded, kind, stored }) => {
      const at = toSeconds(atMicroseconds).toFixed(6);
      return `${instrument} at ${at} s, ${kind}: stored ${stored ?? 'nothing'}, bytes say ${decoded ?? 'nothing'}`;
    }),
    ...(more > 0 ? [`${instrument}: ${more} more, see --json`] : []),
    ...(atEdge > 0
      ? [`${instrument}: ${atEdge} in the first line of a conversation, which may have begun before the record`]
      : []),
  ];
}
