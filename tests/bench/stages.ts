import type { Stage } from './stage.ts';
import { assessment } from './stages/assessment.ts';
import { bridgeFrame } from './stages/bridge-frame.ts';
import { ingest } from './stages/ingest.ts';
import { monteCarlo } from './stages/monte-carlo.ts';
import { readBack } from './stages/read-back.ts';
import { redraw } from './stages/redraw.ts';
import { rehearsal } from './stages/rehearsal.ts';
import { startUp } from './stages/start-up.ts';
import { store } from './stages/store.ts';
import { studyOpening } from './stages/study-opening.ts';

/** From the wire to the screen, and then what a whole trial and a whole program take. */
export const stages: readonly Stage[] = [
  ...[ingest, store, readBack, bridgeFrame, redraw],
  ...[assessment, monteCarlo, rehearsal, startUp, studyOpening],
];
