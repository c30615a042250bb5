import { followSignatures } from '../model/signature.ts';
import type { Signature } from '../model/signature.ts';
import type { Block, Section, Words } from './document.ts';
import { given, plain, strong, wire, words } from './document.ts';
import { momentInWords } from './moments.ts';
import type { ReportSource } from './source.ts';

/** Who signed this assessment as what, and how it stands; null where nothing of a virtual trial was ever signed. */
export function signatureSection({ assessment, record, signatures }: ReportSource): Section | null {
  if (signatures.length === 0) {
    if (record.header.virtual) return null;
    const text = plain('Nobody has signed an assessment of this trial: its result may still become another one.');
    return { id: 'signatures', heading: 'Signatures', blocks: [{ block: 'paragraph', words: text }] };
  }
  const { assessments, released } = followSignatures(signatures);
  const own = signatures.filter((one) => one.assessment === assessment.assessment);
  const last = assessments.get(assessment.assessment)?.standing.at(-1) ?? null;
  const rehearsal = signatures.some((one) => one.rehearsal);
  const standing: Words =
    last === null ? [strong('No signature of this assessment stands.')] : [strong(heading(last))];
  const other =
    released !== null && released.assessment !== assessment.assessment
      ? words` Another assessment of the trial is released, ${wire(released.assessment)}, and is its result.`
      : [];
  const virtual = rehearsal ? plain(' The trial is virtual: it is signed as a rehearsal, and by no key.') : [];
  const blocks: Block[] = [{ block: 'paragraph', words: [...standing, ...other, ...virtual] }];
  if (own.length > 0) blocks.push(tableOf(own));
  return { id: 'signatures', heading: 'Signatures', blocks };
}

function tableOf(own: readonly Signature[]): Block {
  return {
    block: 'table',
    caption: 'What was signed of this assessment, oldest first',
    columns: [
      { heading: 'When', align: 'left', width: 3 },
      { heading: 'Person', align: 'left', width: 2 },
      { heading: 'Signed as', align: 'left', width: 2 },
      { heading: 'Reason', align: 'left', width: 6 },
    ],
    rows: own.map(({ createdAt, person, reason, step }) => [
      { words: plain(momentInWords(createdAt)) },
      { words: [given(person)] },
      { words: plain(step === 'withdrawn' ? 'the last one taken back' : step) },
      { words: [given(reason)] },
    ]),
    totals: [],
    notes: [
      ...own.flatMap(({ key, number }) =>
        key === null ? [] : [words`Signature ${number} is signed by the key ${wire(key.fingerprint)}, Ed25519.`],
      ),
      plain(
        'A signature shows that somebody knew a PIN, not who sat at the keyboard; its time is the computer’s; ' +
          'that the instruments were right is signed by nobody.',
      ),
    ],
  };
}

function heading({ person, step }: Pick<Signature, 'person' | 'step'>): string {
  if (step === 'released') return `This assessment is released, by ${person}.`;
  return `This assessment is signed as ${step}, by ${person}, and not released.`;
}
