import type { CheckDefinition } from '../kind.ts';
import { stepOf, stretchOf } from '../reading.ts';
import type { Stretch } from '../reading.ts';
import { figure, verdict } from '../vocabulary.ts';

/** Readings may come this much slower or faster than the instrument says, percent. */
const mostPercent = 2;
/** The machine's clock against a reference clock, read and pressed by hand, s. */
const mostSeconds = 2;
const dayLength = 86_400;
/** Fewer readings than this say nothing about their rhythm. */
const fewest = 5;
/** Streams that are slower than this are left out: nobody waits for five of their readings, s. */
const slowestSeconds = 2;

/** The rhythm of every instrument against the host, and the host against a clock that is known to be right. */
export const clockCheck: CheckDefinition = {
  check: 'clock',
  validDays: 30,
  usesChallenge: false,
  subjects: () => [null],
  needs: (rig) => [rig.photometer],
  keeps: (_, { expectedIntervalSeconds: every }) => every !== null && every <= slowestSeconds,
  steps: (_, __, pace) => [
    { step: 'read', part: 'rhythm', seconds: 3 * pace.readSeconds },
    {
      step: 'ask',
      part: 'clock',
      ask: 'clock',
      probe: null,
      place: null,
      fields: [{ field: 'time', kind: 'time', unit: 's', proposed: null, low: 0, high: dayLength }],
    },
  ],
  evaluate(record) {
    const ask = stepOf(record, 'clock', 'ask');
    const told = ask?.answers['time'] ?? null;
    const here = ask?.daySeconds ?? null;
    const faults: string[] = [];
    const rhythms = record.streams.map((stream) => {
      const expected = stream.expectedIntervalSeconds ?? Number.NaN;
      const stretch = stretchOf(record, stream, 'rhythm');
      const off = stretch.values.length < fewest ? null : 100 * (intervalSeconds(stretch) / expected - 1);
      if (off === null) faults.push(`${stream.instrument} gave ${stretch.values.length} readings of ${stream.stream}.`);
      return figure(`interval ${stream.instrument} ${stream.stream}`, off, 'percent', {
        low: -mostPercent,
        high: mostPercent,
      });
    });
    return verdict(
      [
        figure('machine-clock', told === null || here === null ? null : aroundMidnight(here - told), 's', {
          low: -mostSeconds,
          high: mostSeconds,
        }),
        ...rhythms,
      ],
      `The machine's clock within ${mostSeconds} s, the rhythm of each instrument within ${mostPercent} %.`,
      faults,
    );
  },
};

/** Between −12 h and 12 h: a minute before midnight is not a day after it. */
function aroundMidnight(seconds: number): number {
  return seconds - dayLength * Math.round(seconds / dayLength);
}

/** Slope of the arrivals over their number, by least squares: one late line moves it little. s. */
function intervalSeconds({ atMicroseconds }: Stretch): number {
  const count = atMicroseconds.length;
  const origin = atMicroseconds[0] ?? 0;
  const middle = (count - 1) / 2;
  let products = 0;
  let squares = 0;
  for (const [index, at] of atMicroseconds.entries()) {
    products += (index - middle) * (at - origin);
    squares += (index - middle) ** 2;
  }
  return products / squares / 1e6;
}
