import type { Rig } from '../../../model/rig.ts';
import { solePort } from '../../../model/rig.ts';
import { combineSteps, fewestRepeats, fitStep } from '../../step-response.ts';
import type { StepFit, StepReadings, StepResponse } from '../../step-response.ts';
import { challengeRule, goTo } from '../air-steps.ts';
import { ofTheAir } from '../kind.ts';
import type { CheckDefinition } from '../kind.ts';
import { faultsOf, photometerOf, stepOf, stretchBetween } from '../reading.ts';
import type { CheckRecord, CheckStep } from '../step.ts';
import { figure, verdict } from '../vocabulary.ts';

/** Readings of chamber air before a fall, s. */
const leadSeconds = 3;
/** After which a fall has died away. */
const fallTimeConstants = 12;
/** What is found may differ from what the rig says by this many standard uncertainties of the difference. */
const mostUncertainties = 3;

/** The valve steps from chamber air to filtered air, five times: common transit and time constant. */
export const responseCheck: CheckDefinition = {
  ...ofTheAir,
  check: 'response',
  validDays: 90,
  // Without a bypass the line of the filtered air holds stale air, and no step arrives.
  subjects: (rig) => (rig.bypass ? [null] : []),
  steps(rig, _, pace) {
    const { commonTransitSeconds, instrumentDelaySeconds, timeConstantSeconds } = rig;
    const fall =
      commonTransitSeconds.value + instrumentDelaySeconds.value + fallTimeConstants * timeConstantSeconds.value;
    const steps: CheckStep[] = [];
    for (let repeat = 1; repeat <= fewestRepeats; repeat += 1) {
      steps.push(...goTo(rig, `lead-${repeat}`, solePort(rig, 'reference'), challengeRule(rig), pace));
      steps.push({ step: 'read', part: `lead-${repeat}`, seconds: leadSeconds });
      steps.push({ step: 'select', part: `fall-${repeat}`, port: solePort(rig, 'filtered-air').port });
      // A reading at least every twentieth of it is needed: slow photometers are given the time.
      steps.push({ step: 'read', part: `fall-${repeat}`, seconds: Math.max(fall, pace.readSeconds) });
    }
    return steps;
  },
  evaluate(record, rig) {
    const faults = faultsOf(record, rig);
    const falls = fallsOf(record, rig);
    for (const { fit, part, reason } of falls) if (fit === null) faults.push(`No fit (${part}): ${reason}.`);
    const fits = falls.flatMap(({ fit }) => (fit === null ? [] : [fit]));
    const interval = intervalOf(record, rig);
    let found: StepResponse | null = null;
    if (fits.length >= fewestRepeats && interval !== null) found = combineSteps(fits, interval);
    else faults.push(`${fits.length} falls could be fitted; ${fewestRepeats} are needed.`);
    const transit = {
      value: rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value,
      standardUncertainty: Math.hypot(
        rig.commonTransitSeconds.standardUncertainty,
        rig.instrumentDelaySeconds.standardUncertainty,
        slackOf(record, rig),
      ),
    };
    return verdict(
      [
        stated('transit', found?.transitSeconds ?? null, transit),
        stated('time-constant', found?.timeConstantSeconds ?? null, rig.timeConstantSeconds),
        figure(
          'transit-and-time-constant',
          found?.sumSeconds.value ?? null,
          's',
          {},
          found?.sumSeconds.standardUncertainty ?? null,
        ),
        figure('dispersion', found === null ? null : (found.dispersionSeconds ?? 0), 's'),
      ],
      `Limit: what the rig says, within ${mostUncertainties} standard uncertainties of the difference.`,
      faults,
    );
  },
};

type Stated = Rig['timeConstantSeconds'];

function stated(name: string, found: Stated | null, said: Stated): ReturnType<typeof figure> {
  const doubt = mostUncertainties * Math.hypot(said.standardUncertainty, found?.standardUncertainty ?? 0);
  const limits = { low: said.value - doubt, high: said.value + doubt };
  return figure(name, found?.value ?? null, 's', limits, found?.standardUncertainty ?? null);
}

/** The readings of one fall. */
export interface FallReadings {
  readonly part: string;
  readonly readings: StepReadings;
}

/** One fall with its fit; `fit` null where there is none, and why. */
interface Fall extends FallReadings {
  readonly fit: StepFit | null;
  readonly reason: string | null;
}

/**
 * Every fall of a record. Times count from the middle of the valve's movement, which begins when it is told: half of
 * its stated time after the request.
 */
export function fallReadingsOf(record: CheckRecord, rig: Rig): FallReadings[] {
  const photometer = photometerOf(record, rig);
  const falls: FallReadings[] = [];
  for (let repeat = 1; repeat <= fewestRepeats; repeat += 1) {
    const part = `fall-${repeat}`;
    const select = stepOf(record, part, 'select');
    const lead = stepOf(record, `lead-${repeat}`, 'read');
    const read = stepOf(record, part, 'read');
    if (select === null || lead === null || read === null) continue;
    const middle = select.beganAtMicroseconds + (rig.valveSwitchingSeconds / 2) * 1e6;
    const { atMicroseconds, values } = stretchBetween(photometer, lead.beganAtMicroseconds, read.endedAtMicroseconds);
    falls.push({ part, readings: { seconds: atMicroseconds.map((at) => (at - middle) / 1e6), values } });
  }
  return falls;
}

function fallsOf(record: CheckRecord, rig: Rig): Fall[] {
  const guess = {
    transitSeconds: rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value,
    timeConstantSeconds: rig.timeConstantSeconds.value,
  };
  return fallReadingsOf(record, rig).map((fall): Fall => {
    try {
      return { ...fall, fit: fitStep(fall.readings, guess), reason: null };
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      return { ...fall, fit: null, reason: error.message };
    }
  });
}

/** How long the valve took to answer beyond its stated time: when in it the air changed is not known, as √(1/12). */
function slackOf(record: CheckRecord, rig: Rig): number {
  const slacks = record.steps.flatMap(({ beganAtMicroseconds, step, valve }) =>
    step.step === 'select' && step.part.startsWith('fall') && valve?.confirmedAtMicroseconds != null
      ? [(valve.confirmedAtMicroseconds - beganAtMicroseconds) / 1e6 - rig.valveSwitchingSeconds]
      : [],
  );
  const mean = slacks.reduce((sum, slack) => sum + slack, 0) / Math.max(1, slacks.length);
  return Math.max(0, mean) / Math.sqrt(12);
}

/** Mean time between readings, s; null for fewer than two. */
function intervalOf(record: CheckRecord, rig: Rig): number | null {
  const photometer = photometerOf(record, rig);
  const part = stepOf(record, 'fall-1', 'read');
  if (part === null) return null;
  const { atMicroseconds } = stretchBetween(photometer, part.beganAtMicroseconds, part.endedAtMicroseconds);
  const count = atMicroseconds.length;
  return count < 2 ? null : ((atMicroseconds[count - 1] as number) - (atMicroseconds[0] as number)) / (count - 1) / 1e6;
}
