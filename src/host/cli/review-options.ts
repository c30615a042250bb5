import type { LeftOut } from '../../leakage/left-out.ts';
import type { Review } from '../../leakage/review.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { codeSchema } from '../../model/identity.ts';
import { toMicroseconds } from '../../model/time.ts';
import { choosesMethod } from './chosen-method.ts';
import { codeWords, type OptionDescription, type OptionValues } from './command.ts';

/** Options by which a reviewer chooses how a trial is assessed. */
export const reviewOptions: readonly OptionDescription[] = [
  {
    name: 'leave-out',
    value: 'LIST',
    help: 'stretches of trial time to leave out, FROM-TO or FROM-TO@PROBE in seconds, separated by commas',
  },
  { name: 'time', value: 'WORD', help: 'arrival: when it came in; probe: when it left the probe; default arrival' },
  { name: 'reason', value: 'TEXT', help: 'why: kept with the assessment, printed in the report; 1 to 400 characters' },
  { name: 'person', value: 'CODE', help: 'reviewer who has it done; the PIN is asked for' },
  { name: 'laboratory', value: 'FILE', help: 'laboratory file in which the reviewer is registered' },
];

const form = 'stretches like 612.5-618 or 612.5-618@chest, separated by commas';

/**
 * What is to be left out, by whom and why; null where nobody chose anything.
 * @throws ChambersideError `usage-bad-value`, `usage-unknown-option` where something else is missing.
 */
export function reviewOf(values: OptionValues): Review | null {
  const names = reviewOptions.map(({ name }) => name);
  if (!names.some((name) => values.has(name)) && !choosesMethod(values)) return null;
  if (values.has('time') && !values.has('leave-out')) {
    const what = '--time says on which time a stretch lies, and there is none';
    throw new ChambersideError('usage-unknown-option', what, 'chamberside assess', 'Give --leave-out as well.');
  }
  // Nobody has to answer for what is only looked at.
  const dry = values.has('dry');
  for (const name of ['reason', 'person', 'laboratory']) {
    if (dry || values.has(name)) continue;
    throw new ChambersideError(
      'usage-unknown-option',
      `--${name} is missing: another method, or a stretch left out, is a reviewer's decision`,
      'chamberside assess',
      'Give --person, --laboratory and --reason; or --dry, to compute and store nothing.',
    );
  }
  const reason = values.optional('reason')?.trim() ?? 'looked at only';
  if (reason.length > 400) {
    throw new ChambersideError('usage-bad-value', 'the reason has more than 400 characters', '--reason', 'Shorten it.');
  }
  const person = values.fitting('person', { schema: codeSchema, ...codeWords, otherwise: 'nobody' });
  const time = values.oneOf('time', ['arrival', 'probe'], 'arrival');
  return { person, reason, leftOut: stretches(values.optional('leave-out'), time, reason) };
}

function stretches(list: string | undefined, time: LeftOut['time'], reason: string): LeftOut[] {
  if (list === undefined) return [];
  return list.split(',').map((word) => {
    const match = /^\s*(\d+(?:\.\d{1,6})?)\s*-\s*(\d+(?:\.\d{1,6})?)(?:\s*@\s*([a-z0-9][a-z0-9-]*))?\s*$/.exec(word);
    const [from, to] = [Number(match?.[1]), Number(match?.[2])];
    if (match === null || !(from < to)) {
      const remedy = `Give ${form}; a stretch ends after it begins.`;
      throw new ChambersideError('usage-bad-value', `${JSON.stringify(word)} is no stretch`, '--leave-out', remedy);
    }
    return {
      fromMicroseconds: toMicroseconds(from),
      toMicroseconds: toMicroseconds(to),
      time,
      probe: match[3] ?? null,
      reason,
    };
  });
}
