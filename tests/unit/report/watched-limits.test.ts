import { expect, it } from 'vitest';
import type { WatchedLimit } from '../../../src/model/watched-limit.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import { configurationSection } from '../../../src/report/configuration-sections.ts';
import { textOf } from '../../../src/report/document.ts';
import { tellHappenings } from '../../../src/report/story.ts';
import { reportSource } from '../../support/report/report-source.ts';

const source = reportSource();
const limit: WatchedLimit = {
  ...{ name: 'low', title: 'Fan flow low', instrument: 'photometer', stream: 'fan-flow', unit: 'L/min' },
  ...{ side: 'below', limit: 120, holdSeconds: 10, clearBy: 0, priority: 'high' },
  ...{ action: 'Stop.', source: 'the physician' },
};
const raised: TrialEvent = {
  ...{ kind: 'alarm-raised', atMicroseconds: 5, alarm: 'limit-low', instrument: 'photometer' },
  detail: 'fan flow 110 L/min, below 120 L/min for 10 s.',
};
const { record } = source;
const watched = { ...record, rig: { ...record.rig, watch: [limit] }, events: [raised] };

it('calls the alarm of a limit by its title, and lists the limit with who set it', () => {
  expect(tellHappenings(watched).told.map(({ what }) => what)).toEqual(['Alarm: Fan flow low (photometer)']);
  const { blocks } = configurationSection({ ...source, record: watched });
  const rows = blocks.flatMap((block) =>
    block.block === 'table' ? block.rows.map((row) => row.map(({ words }) => textOf(words))) : [],
  );
  expect(rows).toContainEqual(['Fan flow low', 'photometer, fan flow below 120 L/min for 10 s', 'the physician']);
});
