import { describe, expect, it } from 'vitest';
import { anotherLimit, ofStream, readWatches, watchDraft } from '../../../../renderer/rig/watch-draft.ts';
import { watchedLimitSchema } from '../../../../src/model/watched-limit.ts';

const offered = [{ instrument: 'suit', stream: 'fan-flow', unit: 'L/min' }] as const;
const fanFlow = {
  ...anotherLimit(offered),
  ...{ title: 'Fan flow low', side: 'below' as const, limit: '120', action: 'Stop.', source: 'the responsible person' },
};
const read = (drafts: Parameters<typeof readWatches>[0]): unknown[] => readWatches(drafts, (text) => Number(text));

describe('a watched limit as a form', () => {
  it('is a limit when everything is there, and the same form again', () => {
    const [limit] = read([fanFlow]);
    const parsed = watchedLimitSchema.parse(limit);
    expect(parsed).toMatchObject({ name: 'fan-flow-low', instrument: 'suit', stream: 'fan-flow', unit: 'L/min' });
    expect(read([watchDraft(parsed)])).toEqual([parsed]);
  });

  it('takes the unit of a stream that is known', () => {
    expect(ofStream({ ...fanFlow, unit: 'one' }, 'suit/fan-flow', offered).unit).toBe('L/min');
    expect(ofStream({ ...fanFlow, unit: 'one' }, 'suit/other', offered).unit).toBe('one');
  });

  it('has a name of its own, also beside one of the same title, in any script, and one that was named before', () => {
    const names = (titles: readonly string[]): unknown[] =>
      readWatches(titles.map((title) => ({ ...fanFlow, title })), Number).map(({ name }) => name);
    expect(names(['Flow low', 'Flow low'])).toEqual(['flow-low', 'flow-low-2']);
    expect(names(['\u6c27', '\u6c27'])).toEqual(['limit', 'limit-2']);
    const kept = { ...fanFlow, name: 'flow-low', title: 'Fan flow low' };
    const both = [{ ...fanFlow, title: 'Flow low' }, kept];
    expect(read(both)).toMatchObject([{ name: 'flow-low-2' }, { name: 'flow-low' }]);
    const long = read([{ ...fanFlow, title: 'a'.repeat(40) }, { ...fanFlow, title: 'a'.repeat(40) }]);
    for (const limit of long) expect(watchedLimitSchema.safeParse(limit).success).toBe(true);
  });
});
