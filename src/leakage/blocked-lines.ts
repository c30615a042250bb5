import { probePorts } from '../model/rig.ts';
import type { Port } from '../model/rig.ts';
import { dwellAgainstAir } from './against-air.ts';
import type { Background } from './background.ts';
import { doubt, figure, flagsOf } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import type { ReadingContext } from './dwell-reading.ts';
import { doubtsOfLine, missingBackgrounds, spoils } from './flow.ts';
import type {
  AgainstLimit,
  BackgroundAgainstAir,
  DoubtsOfLine,
  MissingBackground,
  RunAgainstAir,
} from './flow.ts';
import type { AssessedPart } from './part.ts';
import { doubtOfPartialFlow } from './partial-flow.ts';
import type { TrialInputs } from './trial-inputs.ts';

/** The parts of one exercise at one probe. */
interface PartsOfProbe {
  readonly probe: string;
  readonly parts: readonly AssessedPart[];
}

/**
 * Marks what a blocked line touched as `no-flow`: what can be said only of several windows of a probe together, and of
 * the backgrounds of all probes. A background that was not really read spoils every window it is subtracted from.
 * @param cells of the whole trial. @returns the same, in the same order.
 */
export function markBlockedLines<Cell extends PartsOfProbe>(
  context: ReadingContext,
  inputs: TrialInputs,
  cells: readonly Cell[],
): Cell[] {
  const found = new Map<AssessedPart, readonly Doubt[]>();
  const backgrounds = backgroundsAgainstAir(context, inputs);
  for (const { port, probe } of probePorts(context.rig)) {
    const parts = cells.filter((cell) => cell.probe === probe).flatMap((cell) => cell.parts);
    const background = backgrounds.get(port) ?? null;
    const ofBackground = background?.doubts ?? [];
    const windows = parts.filter(hasWindow).sort((one, other) => timeOf(one) - timeOf(other));
    const line = doubtsOfLine(
      background?.air ?? null,
      windows.map(({ againstAir }) => againstAir),
      context.method.detectionFactor,
    );
    if (line.background !== null && background !== null) {
      const words = 'background minus zero, before windows that read like filtered air';
      ofBackground.push(ofReading(background.dwell, words, line.background));
    }
    for (const part of parts) {
      if (part.held === null) continue;
      const missing = doubtOfMissing(background, part);
      found.set(part, missing === null ? ofBackground : [missing, ...ofBackground]);
    }
    const ofWindows = doubtsOfWindows(windows, line);
    windows.forEach((part, index) => {
      const own = ofWindows[index] ?? null;
      if (own !== null) found.set(part, [own, ...(found.get(part) ?? [])]);
    });
  }
  return cells.map((cell) => ({ ...cell, parts: cell.parts.map((part) => withDoubts(part, found.get(part) ?? [])) }));
}

interface JudgedBackground {
  readonly dwell: number;
  readonly air: BackgroundAgainstAir;
  /** What the backgrounds of the other probes say against it. */
  readonly missing: MissingBackground | null;
  /** What speaks against every window that it is subtracted from. */
  readonly doubts: Doubt[];
}

/** By port; what can be said without the windows. Empty where no background is subtracted or no noise is known. */
function backgroundsAgainstAir(context: ReadingContext, inputs: TrialInputs): Map<number, JudgedBackground> {
  const { method, rig } = context;
  const { blank } = inputs;
  const judged = new Map<number, JudgedBackground>();
  if (blank === null || !method.subtractBackground) return judged;
  const known: readonly (readonly [Port, Background])[] = probePorts(rig).flatMap((port) => {
    const background = inputs.backgrounds.get(port.port);
    return background === undefined ? [] : [[port, background] as const];
  });
  const airs = known.map(([port, { dwell, zero }]) => ({
    ...dwellAgainstAir(context, blank, dwell, zero),
    factor: port.dilution.value / port.penetration.value,
  }));
  const missing = missingBackgrounds(airs, method.detectionFactor);
  known.forEach(([port, { dwell, zero }], index) => {
    const number = dwell.recorded.dwell.dwell;
    const partial = doubtOfPartialFlow(context, blank, dwell, zero);
    judged.set(port.port, {
      dwell: number,
      air: airs[index] as BackgroundAgainstAir,
      missing: missing[index] ?? null,
      doubts: partial === null ? [] : [partial],
    });
  });
  return judged;
}

/** The others' backgrounds only suggest what this one should be: that is asked where it would change the value. */
function doubtOfMissing(background: JudgedBackground | null, { againstAir }: AssessedPart): Doubt | null {
  if (background === null || background.missing === null) return null;
  if (againstAir !== null && !spoils(background.missing, againstAir)) return null;
  return ofReading(background.dwell, 'background minus zero, beside those of the other probes', background.missing);
}

type WindowPart = AssessedPart & {
  readonly held: NonNullable<AssessedPart['held']>;
  readonly againstAir: NonNullable<AssessedPart['againstAir']>;
};

function hasWindow(part: AssessedPart): part is WindowPart {
  return part.held !== null && part.againstAir !== null;
}

function timeOf({ held }: WindowPart): number {
  return held.dwell.mean.fromMicroseconds;
}

/** One doubt for all windows of a run, so that a cell with several of them says it once. */
function doubtsOfWindows(windows: readonly WindowPart[], { windows: found }: DoubtsOfLine): (Doubt | null)[] {
  const made = new Map<RunAgainstAir, { readonly within: Doubt; readonly beside: Doubt }>();
  const ofRun = (run: RunAgainstAir): { readonly within: Doubt; readonly beside: Doubt } => {
    const known = made.get(run);
    if (known !== undefined) return known;
    const [first, last] = [run.first, run.last].map((index) => windows[index]?.shown.dwell ?? 0);
    const count = run.last - run.first + 1;
    const which = first === last ? `window of dwell ${first}` : `${count} windows from dwell ${first} to ${last}`;
    const within =
      count === windows.length
        ? `mean over the ${count} windows of the probe, minus zero`
        : `mean over the ${which}, minus zero, beside the other windows of the probe`;
    const measured = figure(run.value, run.limit, 'reading');
    const neighbour = `mean over the ${which} beside it, minus zero`;
    const beside = `the line may have been blocked in a part of this window: ${neighbour}`;
    const pair = { within: doubt('no-flow', null, within, measured), beside: doubt('no-flow', null, beside, measured) };
    made.set(run, pair);
    return pair;
  };
  return found.map((here, index) => {
    if (here === null) return null;
    if (here !== 'beside') return ofRun(here).within;
    const run = [found[index - 1], found[index + 1]].find((other) => other != null && other !== 'beside');
    return run == null ? null : ofRun(run).beside;
  });
}

function ofReading(dwell: number, found: string, { value, limit }: AgainstLimit): Doubt {
  return doubt('no-flow', dwell, found, figure(value, limit, 'reading'));
}

function withDoubts(part: AssessedPart, added: readonly Doubt[]): AssessedPart {
  if (added.length === 0) return part;
  const doubts = [...part.doubts, ...added];
  return { ...part, doubts, shown: { ...part.shown, flags: flagsOf(doubts) } };
}
