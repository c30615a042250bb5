import type { CheckDefinition } from './kind.ts';
import { beltCheck } from './kinds/belt.ts';
import { clockCheck } from './kinds/clock.ts';
import { detectionLimitCheck } from './kinds/detection-limit.ts';
import { dilutionCheck } from './kinds/dilution.ts';
import { lineLeakCheck } from './kinds/line-leak.ts';
import { linearityCheck } from './kinds/linearity.ts';
import { responseCheck } from './kinds/response.ts';
import { uniformityCheck } from './kinds/uniformity.ts';
import { valveCheck } from './kinds/valve.ts';
import { spanCheck, zeroCheck } from './kinds/zero-span.ts';
import type { CheckKind } from './vocabulary.ts';

/** Every check that the program knows. */
export const checkDefinitions: Readonly<Record<CheckKind, CheckDefinition>> = {
  zero: zeroCheck,
  span: spanCheck,
  'detection-limit': detectionLimitCheck,
  linearity: linearityCheck,
  response: responseCheck,
  valve: valveCheck,
  dilution: dilutionCheck,
  'line-leak': lineLeakCheck,
  uniformity: uniformityCheck,
  belt: beltCheck,
  clock: clockCheck,
};
