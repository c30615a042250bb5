import type { LaneView } from '../../../bridge/trial-snapshot.ts';
import { flagMeanings } from '../../../leakage/flag.ts';
import type { Flag } from '../../../leakage/flag.ts';
import type { ProvisionalLeakage } from '../../../leakage/provisional.ts';
import { probePorts } from '../../../model/rig.ts';
import type { Rig } from '../../../model/rig.ts';
import type { NowView } from './now.ts';

export interface LanesInput {
  readonly rig: Rig;
  readonly now: NowView;
  /** Newest leakage of each probe from dwells that are over. */
  readonly leakages: Readonly<Record<string, ProvisionalLeakage>>;
  /** What the probe dwell under way shows so far; null when there is none. */
  readonly running: ProvisionalLeakage | null;
  /** Usable seconds that each probe's newest dwell was planned to have. */
  readonly plannedSeconds: ReadonlyMap<string, number>;
}

const empty = {
  windowPercent: null,
  windowLowPercent: null,
  windowHighPercent: null,
  detectionLimitPercent: null,
  belowDetectionLimit: false,
  measuredToMicroseconds: null,
  usableSeconds: 0,
  flags: [],
  detail: null,
};

/** One lane for each probe, in the order of the rig. */
export function laneViews(input: LanesInput): LaneView[] {
  return probePorts(input.rig).map(({ probe }) => lane(input, probe));
}

function lane(input: LanesInput, probe: string): LaneView {
  const { now, running } = input;
  const before = input.leakages[probe] ?? null;
  const usableSecondsPlanned = input.plannedSeconds.get(probe) ?? 0;
  const onIt = now.probe === probe && now.purpose === 'probe';
  if (!onIt) {
    if (before === null) return { probe, state: 'not-yet', ...empty, usableSecondsPlanned };
    return {
      probe,
      state: before.windowPercent === null ? 'no-result' : 'waiting',
      ...shown(before),
      usableSecondsPlanned,
    };
  }
  switch (now.air) {
    case 'usable': {
      // What was seen before is not what is seen now.
      if (running === null) return { probe, state: 'measuring', ...empty, usableSecondsPlanned };
      // That it is not complete yet is no doubt about what has been seen.
      const flags = running.flags.filter((flag) => flag !== 'incomplete' && flag !== 'unsettled');
      return { probe, state: 'measuring', ...shown({ ...running, flags }), usableSecondsPlanned };
    }
    case 'unconfirmed':
    case 'no-reading': {
      const detail = now.air === 'unconfirmed' ? flagMeanings['port-unconfirmed'] : 'The photometer gives no readings.';
      return { probe, state: 'no-result', ...(before === null ? empty : shown(before)), usableSecondsPlanned, detail };
    }
    case 'none':
    case 'moving':
    case 'transit':
    case 'settling':
      return {
        probe,
        state: 'settling',
        ...(before === null ? empty : shown(before)),
        usableSeconds: 0,
        usableSecondsPlanned,
      };
  }
}

type Shown = Omit<LaneView, 'probe' | 'state' | 'usableSecondsPlanned'>;

function shown(value: ProvisionalLeakage): Shown {
  return {
    windowPercent: value.windowPercent,
    windowLowPercent: value.windowLowPercent,
    windowHighPercent: value.windowHighPercent,
    detectionLimitPercent: value.detectionLimitPercent,
    belowDetectionLimit: value.flags.includes('below-detection-limit'),
    measuredToMicroseconds: value.measuredToMicroseconds,
    usableSeconds: value.usableSeconds,
    flags: [...value.flags],
    detail: value.windowPercent === null ? reasonOf(value.flags) : null,
  };
}

function reasonOf(flags: readonly Flag[]): string {
  const [first] = flags;
  return first === undefined ? 'Nothing usable was read.' : flagMeanings[first];
}
