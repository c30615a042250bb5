import { significant } from '../model/number-text.ts';
import { streamCourses } from '../model/stream-course.ts';
import { units } from '../model/unit.ts';
import type { Section, TableCell } from './document.ts';
import { plain, wire } from './document.ts';
import { plainNumber } from './numbers.ts';
import type { ReportSource } from './source.ts';
import { reportWords } from './words.ts';

/** How the readings of every stream came in: how many, how often, and how long nothing came. */
export function receivedSection({ record }: ReportSource): Section {
  const { caption, heading, note } = reportWords.received;
  const dash = (value: number | null, digits: number): TableCell => ({
    words: plain(value === null ? '–' : significant(value, digits)),
  });
  const rows = streamCourses(record).map((course): TableCell[] => {
    const { everySeconds, longestSeconds, problems, readings, silences, silentSeconds, stream } = course;
    const { symbol } = units[stream.unit];
    return [
      { words: [wire(`${stream.instrument} ${stream.stream}`)] },
      { words: plain(symbol === '' ? '–' : symbol) },
      { words: plain(String(readings)) },
      dash(everySeconds, 5),
      { words: plain(stream.expectedIntervalSeconds === null ? '–' : plainNumber(stream.expectedIntervalSeconds)) },
      dash(longestSeconds, 3),
      { words: plain(silences === 0 ? '0' : `${silences}, ${significant(silentSeconds, 3)} s`) },
      { words: plain(String(problems)) },
    ];
  });
  const number = (text: string, width: number) => ({ heading: text, align: 'right' as const, width });
  return {
    id: 'received',
    heading,
    blocks: [
      {
        block: 'table',
        caption,
        columns: [
          { heading: 'Instrument and stream', align: 'left', width: 3.4 },
          { heading: 'Unit', align: 'left', width: 1.2 },
          number('Readings', 1.3),
          number('Every, s', 1.3),
          number('Expected, s', 1.2),
          number('Longest, s', 1.2),
          number('Silences', 1.6),
          number('Problems', 1.2),
        ],
        rows,
        totals: [],
        notes: [plain(note)],
      },
    ],
  };
}
