import type { Voiding } from '../model/voiding.ts';
import type { Section, Words } from './document.ts';
import { given, plain, strong, words } from './document.ts';
import { momentInWords } from './moments.ts';
import { shortened } from './review-section.ts';
import type { ReportSource } from './source.ts';

/** The decision by which the trial is void; null while it is not. */
export function voidedBy({ voidings }: Pick<ReportSource, 'voidings'>): Voiding | null {
  const newest = voidings.at(-1);
  return newest?.decision === 'void' ? newest : null;
}

/** What stands before every answer of a trial that is void; empty for one that is not. */
export function voidInWords(source: Pick<ReportSource, 'voidings'>): Words {
  const voided = voidedBy(source);
  if (voided === null) return [];
  const why = words` The reviewer ${given(voided.person)} made it so: ${given(shortened(voided.reason))}. `;
  return [strong('This trial is void.'), ...why, ...plain('What follows is no result. ')];
}

/** Who made the trial void and who took that back; null where nobody decided anything. */
export function voidingSection({ voidings }: Pick<ReportSource, 'voidings'>): Section | null {
  if (voidings.length === 0) return null;
  return {
    id: 'void',
    heading: voidings.at(-1)?.decision === 'void' ? 'This trial is void' : 'This trial was void, and is so no longer',
    blocks: [
      {
        block: 'table',
        caption: 'What reviewers decided of the sealed trial; the last decision counts',
        columns: [
          { heading: 'When', align: 'left', width: 3 },
          { heading: 'Reviewer', align: 'left', width: 2 },
          { heading: 'Decision', align: 'left', width: 2 },
          { heading: 'Reason', align: 'left', width: 6 },
        ],
        rows: voidings.map(({ createdAt, decision, person, reason }) => [
          { words: plain(momentInWords(createdAt)) },
          { words: [given(person)] },
          { words: plain(decision === 'void' ? 'void' : 'taken back') },
          { words: [given(reason)] },
        ]),
        totals: [],
        notes: [plain('The decisions stand beside the sealed record; nothing recorded or assessed is changed.')],
      },
    ],
  };
}
