import type { CheckDefinition } from '../kind.ts';
import { stepOf, stretchOf } from '../reading.ts';
import { figure, verdict } from '../vocabulary.ts';

/** What the belt says may differ from a counted pulse by this much, per minute. */
const mostPerMinute = 5;

/** The belt against a pulse that somebody counts meanwhile. */
export const beltCheck: CheckDefinition = {
  check: 'belt',
  validDays: 30,
  usesChallenge: false,
  subjects: (rig) => (rig.heartRate === null ? [] : [null]),
  needs: (rig) => (rig.heartRate === null ? [] : [rig.heartRate]),
  keeps: (rig, { instrument }) => instrument === rig.heartRate,
  steps: (_, __, pace) => [
    { step: 'read', part: 'belt', seconds: 3 * pace.readSeconds },
    {
      step: 'ask',
      part: 'belt',
      ask: 'pulse',
      probe: null,
      place: null,
      fields: [{ field: 'pulse', kind: 'number', unit: 'per-minute', proposed: null, low: 20, high: 250 }],
    },
  ],
  evaluate(record) {
    const stream = record.streams.find((one) => one.stream === 'heart-rate') ?? null;
    const { values } = stretchOf(record, stream, 'belt');
    const mean = values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
    const counted = stepOf(record, 'belt', 'ask')?.answers['pulse'] ?? null;
    const difference = mean === null || counted === null ? null : mean - counted;
    return verdict(
      [
        figure('heart-rate', mean, 'per-minute'),
        figure('counted', counted, 'per-minute'),
        figure('difference', difference, 'per-minute', { low: -mostPerMinute, high: mostPerMinute }),
      ],
      `The belt agrees with the counted pulse within ${mostPerMinute} beats a minute.`,
      mean === null ? ['The belt gave no heart rate.'] : [],
    );
  },
};
