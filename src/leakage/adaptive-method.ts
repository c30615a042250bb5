import type { Method } from '../model/method.ts';
import { firstMethod } from './default-method.ts';

/**
 * The first method with settling adapted to each dwell, for photometers that are slower than the first method is made
 * for, and for rigs whose stated time constant is in doubt. Least waits are those of a quick photometer; 2 s of a dwell
 * are kept whatever is carried over, and flagged.
 */
export const adaptiveMethod: Method = {
  ...firstMethod,
  name: 'adaptive',
  version: 2,
  settling: { rule: 'adaptive', seconds: 2, windowSeconds: 2 },
  zeroSettlingSeconds: 3,
};
