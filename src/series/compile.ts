import { ChambersideError } from '../model/error-code.ts';
import { probePorts, solePort } from '../model/rig.ts';
import type { Port, Rig } from '../model/rig.ts';
import type { Exercise, Series } from '../model/series.ts';
import { toMicroseconds, toSeconds } from '../model/time.ts';
import { requireSound } from './faults.ts';
import { rotatePorts } from './rotation.ts';
import type { Rotation } from './rotation.ts';
import type { Schedule, ScheduledCue, ScheduledExercise, Step } from './schedule.ts';
import { leastDwellSeconds } from './usable.ts';

type Planned = Omit<Step, 'step' | 'port' | 'probe' | 'offsetMicroseconds' | 'longestMicroseconds'> & {
  readonly at: Port;
  readonly longestMicroseconds?: number;
};

/**
 * Compiles a series for a rig into a flat list of steps, one per stay of the valve: background (zero, every probe
 * in rig order, zero), entry (chamber reference), for each exercise the rest on the reference, one zero dwell that
 * spans the end of the rest and the lead-in, and the probe dwells; then the closing reference and zero.
 *
 * Inside an exercise the dwells share the time after the lead-in to the microsecond, none longer than another by
 * more than one. A zero dwell or a reference of no length is left out, its cue moves to the step that follows.
 *
 * @throws ChambersideError `schedule-impossible` when a dwell is too short for the rig to show anything, the parts
 *   of an exercise contradict each other, `forbidden` names an unknown probe, or no port order is allowed.
 */
export function compileSchedule(series: Series, rig: Rig): Schedule {
  requireSound(series);
  const probes = probePorts(rig);
  const reference = solePort(rig, 'reference');
  const zero = solePort(rig, 'filtered-air');
  const rotation = orderPorts(series, probes);

  const steps: Step[] = [];
  let offsetMicroseconds = 0;
  const add = (planned: Planned): void => {
    const { at, longestMicroseconds, ...rest } = planned;
    const longest = longestMicroseconds ?? rest.durationMicroseconds;
    requireDwell(rig, at, planned);
    const place = { step: steps.length, port: at.port, probe: at.probe, offsetMicroseconds };
    steps.push({ ...rest, ...place, longestMicroseconds: longest });
    offsetMicroseconds += rest.durationMicroseconds;
  };
  const outside = { exercise: null, exerciseIndex: null, dwellPosition: null, cues: [] };

  const backgroundZero = toMicroseconds(series.background.zeroSeconds);
  add({ ...outside, stage: 'background', purpose: 'zero', at: zero, durationMicroseconds: backgroundZero });
  for (const probe of probes) {
    const durationMicroseconds = toMicroseconds(series.background.dwellSeconds);
    add({ ...outside, stage: 'background', purpose: 'background', at: probe, durationMicroseconds });
  }
  add({ ...outside, stage: 'background', purpose: 'zero', at: zero, durationMicroseconds: backgroundZero });

  add({
    ...outside,
    stage: 'entry',
    purpose: 'reference',
    at: reference,
    durationMicroseconds: toMicroseconds(series.entry.minimumSeconds),
    longestMicroseconds: toMicroseconds(series.entry.maximumSeconds),
    cues: [{ offsetMicroseconds: 0, cue: 'enter', exercise: null, text: 'Enter the chamber and stand at your place.' }],
  });

  const exercises: ScheduledExercise[] = [];
  for (const [exerciseIndex, exercise] of series.exercises.entries()) {
    const places = rotation.orders[exerciseIndex] ?? [];
    const order = places.map((index) => probes[index]).filter((port) => port !== undefined);
    const restStep = steps.length;
    const pieces = exercisePieces(exercise, exerciseIndex, order, { reference, zero });
    for (const piece of pieces) add(piece);
    const own = steps.slice(restStep);
    const zeroStep = own.find((step) => step.purpose === 'zero')?.step ?? null;
    const firstProbeStep = own.find((step) => step.purpose === 'probe')?.step ?? restStep;
    exercises.push({
      exercise: exercise.exercise,
      name: exercise.name,
      beginText: beginText(exercise),
      restStep,
      zeroStep,
      firstProbeStep,
      lastProbeStep: steps.length - 1,
    });
  }

  add({
    ...outside,
    stage: 'closing',
    purpose: 'reference',
    at: reference,
    durationMicroseconds: toMicroseconds(series.closing.referenceSeconds),
    cues: [{ offsetMicroseconds: 0, cue: 'rest', exercise: null, text: 'Rest. That was all; stay at your place.' }],
  });
  const closingZero = toMicroseconds(series.closing.zeroSeconds);
  add({
    ...outside,
    stage: 'closing',
    purpose: 'zero',
    at: zero,
    durationMicroseconds: closingZero,
    cues: [{ offsetMicroseconds: closingZero, cue: 'leave', exercise: null, text: 'Leave the chamber.' }],
  });

  const used = rig.ports.filter((port) => port.role !== 'spare');
  const least = Math.max(...used.map((port) => leastDwellSeconds(rig, port)));
  return {
    steps,
    exercises,
    filteredAirPort: zero.port,
    leastDwellMicroseconds: toMicroseconds(least),
    durationMicroseconds: offsetMicroseconds,
    rotationRule: rotation.rule,
    balance: rotation.balance,
  };
}

function beginText(exercise: Exercise): string {
  return `Begin: ${exercise.instruction}`;
}

/** The steps of one exercise with its rest. */
function exercisePieces(
  exercise: Exercise,
  exerciseIndex: number,
  order: readonly Port[],
  ports: { readonly reference: Port; readonly zero: Port },
): Planned[] {
  const slug = exercise.exercise;
  const common = { exercise: slug, exerciseIndex, dwellPosition: null };
  const rest = toMicroseconds(exercise.restSeconds);
  const restZero = toMicroseconds(exercise.restZeroSeconds);
  const leadIn = toMicroseconds(exercise.leadInSeconds);
  const measured = toMicroseconds(exercise.durationSeconds) - leadIn;
  const pieces: Planned[] = [];
  const restText = `Rest. Next: ${exercise.name}.`;
  let waiting: ScheduledCue[] = [{ offsetMicroseconds: 0, cue: 'rest', exercise: slug, text: restText }];
  if (rest - restZero > 0) {
    const reading = { at: ports.reference, durationMicroseconds: rest - restZero };
    pieces.push({ ...common, ...reading, stage: 'rest', purpose: 'reference', cues: waiting });
    waiting = [];
  }
  const begin: ScheduledCue = { offsetMicroseconds: restZero, cue: 'begin', exercise: slug, text: beginText(exercise) };
  waiting = [...waiting, begin];
  if (restZero + leadIn > 0) {
    const reading = { at: ports.zero, durationMicroseconds: restZero + leadIn };
    pieces.push({ ...common, ...reading, stage: 'exercise', purpose: 'zero', cues: waiting });
    waiting = [];
  }
  const count = order.length * exercise.dwellsPerProbe;
  for (let index = 0; index < count; index += 1) {
    const at = order[index % order.length];
    if (at === undefined) break;
    // Cumulative rounding: the dwells add up to the measured time exactly.
    const durationMicroseconds = Math.round((measured * (index + 1)) / count) - Math.round((measured * index) / count);
    const cues = [...waiting];
    waiting = [];
    if (index === count - 1) {
      const text = `${exercise.name}: done.`;
      cues.push({ offsetMicroseconds: durationMicroseconds, cue: 'end', exercise: slug, text });
    }
    const reading = { at, durationMicroseconds, dwellPosition: index + 1 };
    pieces.push({ ...common, ...reading, stage: 'exercise', purpose: 'probe', cues });
  }
  return pieces;
}

/** Port order for every exercise, or the reason why there is none. */
function orderPorts(series: Series, probes: readonly Port[]): Rotation {
  const indexOf = (name: string): number => {
    const index = probes.findIndex((port) => port.probe === name);
    if (index >= 0) return index;
    const known = probes.map((port) => port.probe).join(', ');
    throw impossible(`no probe of the rig is called ${name}`, 'order.forbidden', `Use the rig's names: ${known}.`);
  };
  const forbidden = series.order.forbidden.map(([before, after]) => [indexOf(before), indexOf(after)] as const);
  const repeated = series.exercises.some((exercise) => exercise.dwellsPerProbe > 1);
  const rotation = rotatePorts({
    probeCount: probes.length,
    exerciseCount: series.exercises.length,
    kind: series.order.kind,
    offset: series.order.offset,
    forbidden,
    repeated,
  });
  if (rotation !== null) return rotation;
  const pairs = series.order.forbidden.map(([before, after]) => `${before} → ${after}`).join(', ');
  throw impossible(
    `no order of the probes avoids all of ${pairs}`,
    'order.forbidden',
    repeated
      ? 'Remove a pair, or use one dwell per probe: repeated passes also join the last probe to the first.'
      : 'Remove a pair.',
  );
}

function requireDwell(rig: Rig, at: Port, planned: Planned): void {
  const least = leastDwellSeconds(rig, at);
  const seconds = toSeconds(planned.durationMicroseconds);
  if (seconds >= least) return;
  const place = planned.exercise ?? planned.stage;
  throw impossible(
    `a ${planned.purpose} dwell of ${seconds} s on ${at.probe} is too short for this rig`,
    place,
    `Valve, transit and one usable second need ${least.toFixed(2)} s: lengthen it, or use fewer dwells per probe.`,
  );
}

function impossible(what: string, where: string, remedy: string): ChambersideError {
  return new ChambersideError('schedule-impossible', what, where, remedy);
}
