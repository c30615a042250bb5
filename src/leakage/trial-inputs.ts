import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { probePorts } from '../model/rig.ts';
import type { DwellPurpose } from '../model/trial-event.ts';
import { referenceAnchors, zeroAnchors } from './anchors.ts';
import type { DwellAnchor } from './anchors.ts';
import { backgroundOf } from './background.ts';
import type { Background } from './background.ts';
import { trialScatter } from './budget/scatter.ts';
import type { TrialScatter } from './budget/scatter.ts';
import { spanChange } from './challenge.ts';
import { doubt, figure } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { readDwell, scatterOfZeros, wasRead } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext, UnreadDwell } from './dwell-reading.ts';
import type { RecordedDwell } from './recorded-dwell.ts';
import { zeroSteps } from './zero-step.ts';
import type { ZeroStep } from './zero-step.ts';
import { markTails } from './zero-tail.ts';

/** All that the windows of a trial are held against. */
export interface TrialInputs {
  readonly zeros: readonly DwellAnchor[];
  readonly references: readonly DwellAnchor[];
  /** By port number, in the order of the rig. */
  readonly backgrounds: ReadonlyMap<number, Background>;
  readonly blank: BlankScatter | null;
  /** What the inputs themselves show of their scatter. */
  readonly scatter: TrialScatter;
  /** Moves of the zero that are steps; none where the method does not look for them. */
  readonly zeroSteps: readonly ZeroStep[];
  /** Doubts that hold for every window of the trial. */
  readonly doubts: readonly Doubt[];
}

/** Reads zeros, references and backgrounds of a trial, and judges what can only be judged on all of them. */
export function trialInputs(context: ReadingContext, dwells: readonly RecordedDwell[]): TrialInputs {
  // During entry the challenge is still building up: a mean over it belongs to no moment.
  const steady = dwells.filter(({ dwell }) => dwell.stage !== 'entry');
  return inputsOf(context, {
    zeros: readAll(context, dwells, 'zero'),
    references: readAll(context, steady, 'reference'),
    backgrounds: readAll(context, dwells, 'background'),
  });
}

/** Dwells of a trial that have been read, by what they are for; references without those of the entry stage. */
export interface InputDwells {
  readonly zeros: readonly (ReadDwell | UnreadDwell)[];
  readonly references: readonly (ReadDwell | UnreadDwell)[];
  readonly backgrounds: readonly (ReadDwell | UnreadDwell)[];
  /** How many of the newest zeros tell the scatter of filtered air; absent: all. */
  readonly scatterOfNewest?: number;
}

/** The same of dwells that have been read. @param context whose readings their spans count. */
export function inputsOf(context: ReadingContext, dwells: InputDwells): TrialInputs {
  const { method, rig } = context;
  const { backgrounds: ofBackgrounds, references: ofReferences, zeros: ofZeros } = dwells;
  const unmarked = usable(ofZeros);
  const { scatterOfNewest = unmarked.length } = dwells;
  const blank = scatterOfZeros(context, scatterOfNewest > 0 ? unmarked.slice(-scatterOfNewest) : []);
  const zeros = zeroAnchors(markTails(context, unmarked, blank));
  const references = usable(ofReferences);
  const read = usable(ofBackgrounds);
  const backgrounds = new Map<number, Background>();
  for (const { port } of probePorts(rig)) {
    const background = backgroundOf(port, read, zeros, method);
    if (background !== null) backgrounds.set(port, background);
  }
  // Noise, drift and wander of every value come from all of these: what is left out of one concerns every cell.
  const inputs = [...ofZeros, ...ofReferences, ...(method.subtractBackground ? ofBackgrounds : [])];
  const doubts: Doubt[] = inputs.flatMap((dwell) => dwell.doubts.filter(({ flag }) => flag === 'left-out'));
  const moved = spanChange(references, zeros, method);
  if (moved?.exceeded === true) {
    const measured = figure(moved.changePercent, moved.limitPercent, 'percent');
    doubts.push(doubt('drift-exceeded', null, 'first and last reference of the trial, net of zero', measured));
  }
  return {
    zeros,
    references: referenceAnchors(context, references),
    backgrounds,
    blank,
    scatter: trialScatter(context, zeros, references, blank),
    zeroSteps:
      method.zeroStepDeviations === undefined ? [] : zeroSteps(context, zeros, blank, method.zeroStepDeviations),
    doubts,
  };
}

function readAll(
  context: ReadingContext,
  dwells: readonly RecordedDwell[],
  purpose: DwellPurpose,
): (ReadDwell | UnreadDwell)[] {
  return dwells.filter(({ dwell }) => dwell.purpose === purpose).map((dwell) => readDwell(context, dwell));
}

/** Dwells that have a window; those that were cut short only when their port has no other. */
function usable(all: readonly (ReadDwell | UnreadDwell)[]): ReadDwell[] {
  const read = all.filter(wasRead);
  return read.filter(
    (candidate) =>
      candidate.recorded.complete ||
      !read.some((other) => other.recorded.complete && other.port.port === candidate.port.port),
  );
}
