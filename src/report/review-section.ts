import type { LeftOutOfTrial } from '../leakage/left-out.ts';
import type { Block, Section, Words } from './document.ts';
import { given, plain, words } from './document.ts';
import { counted, nbsp, plainNumber } from './numbers.ts';
import type { ReportSource } from './source.ts';

/** Who had the trial assessed in this way and why, and what was left out; null where nobody chose anything. */
export function reviewSection({ assessment, record }: ReportSource): Section | null {
  const { details, review } = assessment;
  if (review === null) return null;
  const stretches = details.leftOut ?? [];
  const label = (probe: string): string => record.rig.ports.find((port) => port.probe === probe)?.label ?? probe;
  const blocks: Block[] = [
    {
      block: 'facts',
      rows: [
        { name: 'Reviewer', value: [given(review.person)] },
        { name: 'Reason', value: [given(review.reason)] },
      ],
    },
  ];
  if (stretches.length === 0) {
    blocks.push({ block: 'paragraph', words: plain('Nothing of the trial is left out of this assessment.') });
  } else {
    blocks.push({
      block: 'table',
      caption: 'Stretches of the trial that are left out',
      columns: [
        { heading: 'From, s', align: 'right', width: 1.4 },
        { heading: 'To, s', align: 'right', width: 1.4 },
        { heading: 'By', align: 'left', width: 1.6 },
        { heading: 'Where', align: 'left', width: 2 },
        { heading: 'Readings of windows', align: 'right', width: 1.8 },
        { heading: 'Reason', align: 'left', width: 4 },
      ],
      rows: stretches.map((one) => rowOf(one, label)),
      totals: [],
      notes: [
        plain(
          'Readings in these stretches take part in no mean. What is left of a window counts by its length; less ' +
            'than half of a window is no value. Every value that is not what it would be with nothing left out, or ' +
            'whose interval or flags are not, carries a flag.',
        ),
      ],
    });
  }
  return { id: 'review', heading: 'What a reviewer chose', blocks };
}

function rowOf(one: LeftOutOfTrial, label: (probe: string) => string): { words: Words }[] {
  const seconds = (microseconds: number): Words => plain(plainNumber(microseconds / 1e6));
  const { dwells, probe, readings, reason, time } = one;
  const taken = `${readings}, ${counted(dwells.length, 'window', 'windows')}`;
  return [
    { words: seconds(one.fromMicroseconds) },
    { words: seconds(one.toMicroseconds) },
    { words: plain(time === 'arrival' ? 'arrival' : `time at${nbsp}the probe`) },
    { words: probe === null ? plain('every dwell') : [given(label(probe))] },
    { words: plain(dwells.length === 0 ? 'none' : taken) },
    { words: [given(reason)] },
  ];
}

/** The same in a sentence for the first page; null where nobody chose anything. */
export function reviewInWords({ assessment }: ReportSource): Words | null {
  const { details, review } = assessment;
  if (review === null) return null;
  const count = details.leftOut?.length ?? 0;
  const what = count === 0 ? 'chose how it is assessed' : `left out ${counted(count, 'stretch', 'stretches')}`;
  return words`The reviewer ${given(review.person)} ${what}: ${given(shortened(review.reason))}`;
}

/** The first page is one page; the whole reason stands in its section. */
export function shortened(text: string): string {
  const letters = [...text];
  return letters.length <= 120 ? text : `${letters.slice(0, 119).join('')}…`;
}
