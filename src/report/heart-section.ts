import { isChambersideError } from '../model/error-code.ts';
import { significant } from '../model/number-text.ts';
import { streamOf } from '../model/trial-record.ts';
import { type HeartSummary, summarizeHeart } from '../physiology/heart-rate.ts';
import type { Section, TableCell, Words } from './document.ts';
import { given, plain } from './document.ts';
import { counted, nbsp } from './numbers.ts';
import type { ReportSource } from './source.ts';
import type { ToldExercise } from './story.ts';
import { reportWords } from './words.ts';

/**
 * Heart rate of each exercise, where the rig has a belt; null where it has none. It is compared to the limit of the
 * trial: the record holds no age of the subject, and a limit by age only where the plan made it the trial's.
 */
export function heartSection({ record }: ReportSource, exercises: readonly ToldExercise[]): Section | null {
  const { heartRate } = record.rig;
  if (heartRate === null) return null;
  const heading = reportWords.heart.heading;
  const stream = streamOf(record, heartRate, 'heart-rate');
  if (stream === undefined || stream.values.length === 0) {
    return { id: 'heart', heading, blocks: [{ block: 'paragraph', words: plain(reportWords.heart.none) }] };
  }
  const limit = record.header.heartRateLimit ?? null;
  const heart = { seconds: stream.atMicroseconds.map((at) => at / 1e6), perMinute: stream.values };
  let refused = 0;
  const rows = exercises.map((told): TableCell[] => {
    const found = summaryOf(heart, told);
    refused += found?.refused ?? 0;
    const share = found === null || limit === null ? null : (100 * found.highest) / limit;
    return [
      { words: [given(told.name)] },
      { words: plain(found === null ? '–' : significant(found.mean, 3)) },
      { words: plain(found === null ? '–' : significant(found.highest, 3)), flagged: share !== null && share > 100 },
      ...(limit === null ? [] : [{ words: plain(share === null ? '–' : `${significant(share, 3)}${nbsp}%`) }]),
      { words: plain(String(found?.readings ?? 0)) },
    ];
  });
  const notes: Words[] = record.header.heartRateLimitFrom === undefined ? [plain(reportWords.heart.age)] : [];
  if (refused > 0) notes.push(plain(reportWords.heart.refused(counted(refused, 'reading', 'readings'))));
  return {
    id: 'heart',
    heading,
    blocks: [
      {
        block: 'table',
        caption: reportWords.heart.caption,
        columns: [
          { heading: 'Exercise', align: 'left', width: 3.5 },
          { heading: 'Mean', align: 'right', width: 1 },
          { heading: 'Highest', align: 'right', width: 1 },
          ...(limit === null ? [] : [{ heading: 'Of the limit', align: 'right' as const, width: 1.2 }]),
          { heading: 'Readings', align: 'right', width: 1 },
        ],
        rows,
        totals: [],
        notes,
      },
    ],
  };
}

/** Null where the exercise was not done, or nothing was read of a heart in it. */
function summaryOf(heart: Parameters<typeof summarizeHeart>[0], told: ToldExercise): HeartSummary | null {
  const { beganAtMicroseconds: began, endedAtMicroseconds: ended } = told;
  if (began === null || ended === null) return null;
  try {
    return summarizeHeart(heart, began / 1e6, ended / 1e6);
  } catch (error) {
    if (isChambersideError(error, 'record-insufficient')) return null;
    throw error;
  }
}
