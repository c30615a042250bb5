import { significant } from '../model/number-text.ts';
import type { StreamRecord } from '../model/trial-record.ts';
import { summarizeBreaths } from '../physiology/breath-summary.ts';
import type { Section, TableCell, Words } from './document.ts';
import { given, plain } from './document.ts';
import { counted } from './numbers.ts';
import type { ReportSource } from './source.ts';
import type { ToldExercise } from './story.ts';
import { reportWords } from './words.ts';

/** How the subject breathed in each exercise, where an instrument gave the flow of breath; null where none did. */
export function breathSection({ record }: ReportSource, exercises: readonly ToldExercise[]): Section | null {
  const breathing = record.rig.instruments.filter(({ kind }) => kind === 'breathing');
  const names = new Set(breathing.map(({ instrument }) => instrument));
  const isFlow = ({ descriptor }: StreamRecord): boolean =>
    names.has(descriptor.instrument) && descriptor.stream === 'flow' && descriptor.unit === 'L/min';
  const stream = record.streams.find(isFlow);
  if (stream === undefined) return null;
  const { caption, heading, measured, none } = reportWords.breath;
  if (stream.values.length === 0) {
    return { id: 'breath', heading, blocks: [{ block: 'paragraph', words: plain(none) }] };
  }
  const { plausibleHigh, plausibleLow } = stream.descriptor;
  const isBreath = (value: number): boolean =>
    value >= (plausibleLow ?? -Infinity) && value <= (plausibleHigh ?? Infinity);
  const flow = {
    seconds: stream.atMicroseconds.map((at) => at / 1e6),
    // What no breath can be is passed over, as a silence is.
    litresPerSecond: stream.values.map((perMinute) => (isBreath(perMinute) ? perMinute / 60 : Number.NaN)),
  };
  let refused = 0;
  const rows = exercises.map(({ beganAtMicroseconds: began, endedAtMicroseconds: ended, name }): TableCell[] => {
    const found = began === null || ended === null ? null : summarizeBreaths(flow, began / 1e6, ended / 1e6);
    refused += found?.refused ?? 0;
    const numbers =
      found === null
        ? null
        : [found.perMinute, found.tidalLitres, found.minuteLitres, found.inspirationSeconds, found.expirationSeconds];
    return [
      { words: [given(name)] },
      ...(numbers ?? [null, null, null, null, null]).map((value) => ({
        words: plain(value === null ? '–' : significant(value, 3)),
      })),
      { words: plain(String(found?.breaths ?? 0)) },
    ];
  });
  const notes: Words[] = [plain(measured)];
  if (refused > 0) notes.push(plain(reportWords.breath.refused(counted(refused, 'breath', 'breaths'))));
  const column = (text: string) => ({ heading: text, align: 'right' as const, width: 1 });
  return {
    id: 'breath',
    heading,
    blocks: [
      {
        block: 'table',
        caption,
        columns: [
          { heading: 'Exercise', align: 'left', width: 3 },
          ...['A minute', 'Volume, L', 'L a minute', 'In, s', 'Out, s', 'Breaths'].map(column),
        ],
        rows,
        totals: [],
        notes,
      },
    ],
  };
}
