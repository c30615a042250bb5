import type { Method } from '../model/method.ts';
import type { Rig } from '../model/rig.ts';
import type { UsableOptions } from '../series/usable.ts';
import { firstMethod } from './default-method.ts';

/** Up to this time constant the quick method's settling leaves less than the first method's does at 1 s, s. */
const quickTimeConstantSeconds = 0.3;

/** The first method for photometers that are fast enough to settle within short dwells. */
export const quickMethod: Method = {
  ...firstMethod,
  name: 'first, quick photometer',
  settling: { rule: 'fixed', seconds: 2 },
  zeroSettlingSeconds: 3,
};

/** The method that a trial on this rig is planned with when nobody chooses another. */
export function methodForRig(rig: Rig): Method {
  return rig.timeConstantSeconds.value <= quickTimeConstantSeconds ? quickMethod : firstMethod;
}

/** What a method takes away from a dwell, for predictions before a trial. */
export function usableOptions(method: Method): UsableOptions {
  return {
    settlingSeconds: method.settling.seconds,
    zeroSettlingSeconds: method.zeroSettlingSeconds,
    guardDispersions: method.guardDispersions,
  };
}
