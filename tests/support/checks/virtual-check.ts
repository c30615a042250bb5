import { drawTrueValues } from '../../../drivers/virtual-rig/draws.ts';
import type { TrueValues } from '../../../drivers/virtual-rig/draws.ts';
import type { Scenario } from '../../../drivers/virtual-rig/index.ts';
import { checkDefinitions } from '../../../src/calibration/check/definitions.ts';
import type { Answers, CheckRecord, CheckStep } from '../../../src/calibration/check/step.ts';
import { checkRecordSchema } from '../../../src/calibration/check/step.ts';
import type { CheckKind, CheckVerdict, Figure } from '../../../src/calibration/check/vocabulary.ts';
import { createVirtualClock } from '../../../src/host/clock/virtual-clock.ts';
import { createInProcessRig } from '../../../src/host/rig/in-process-rig.ts';
import type { InProcessRig } from '../../../src/host/rig/in-process-rig.ts';
import { runCheck } from '../../../src/host/runtime/check-run.ts';
import type { RunningCheck } from '../../../src/host/runtime/check-run.ts';
import { openRig } from '../../../src/host/runtime/open-rig.ts';
import { handOf } from '../../../src/host/runtime/virtual-hands.ts';
import { createReadlineFramer } from '../../../src/host/transport/readline-framer.ts';

export interface VirtualCheckOptions {
  readonly scenario: Scenario;
  readonly seed: number;
  readonly check: CheckKind;
  readonly subject?: string | null;
  readonly readSeconds?: number;
  /** Before the check begins: a fault, say. */
  readonly before?: (rig: InProcessRig) => void;
  /** What the person types; the proposed values by default. */
  readonly answers?: (step: Extract<CheckStep, { step: 'ask' }>) => Answers;
  /** Told at every turn, with the check; null until it has begun. */
  readonly onTurn?: (running: RunningCheck, rig: InProcessRig, seconds: number) => void;
}

export interface VirtualCheck {
  readonly record: CheckRecord;
  readonly verdict: CheckVerdict;
  readonly truth: TrueValues;
  /** The figure of this name. @throws Error when there is none. */
  figure(name: string): Figure;
}

/** A whole check on the virtual rig, over its drivers, in virtual time. Hands are virtual too. */
export async function virtualCheck(options: VirtualCheckOptions): Promise<VirtualCheck> {
  const { check, scenario, seed } = options;
  const clock = createVirtualClock(0);
  const rig = createInProcessRig({ scenario, seed, clock, truth: null });
  let running: RunningCheck | null = null;
  const opened = openRig({
    source: {
      rig: rig.rig,
      placesThem: true,
      open: (instrument, now) => rig.open(instrument, now),
      settings: () => null,
      close: () => rig.stop(),
    },
    clock,
    lines: createReadlineFramer,
    onReading: (_, reading) => running?.observeReading(reading),
    onProblem: () => undefined,
    onChange: () => undefined,
  });
  await clock.run({ until: 3_000_000 });
  options.before?.(rig);
  const definition = checkDefinitions[check];
  running = runCheck({
    rig: opened,
    definition,
    subject: options.subject ?? null,
    condition: 'routine',
    pace: { readSeconds: options.readSeconds ?? 10 },
    clock,
    wallNow: () => new Date(Date.UTC(2026, 0, 5, 8) + clock.now() / 1000),
    onAnswer(step, answers) {
      const hand = handOf(step, answers);
      if (hand !== null) rig.handle(hand);
    },
    onChange: () => undefined,
  });
  const present = running;
  let ended: CheckRecord | null | undefined;
  let failure: Error | undefined;
  present.finished.then(
    (record) => (ended = record),
    (error: unknown) => (failure = error instanceof Error ? error : new Error(String(error))),
  );
  for (let seconds = 0; ended === undefined && failure === undefined && seconds < 3600; seconds += 1) {
    await clock.run({ until: clock.now() + 1_000_000 });
    options.onTurn?.(present, rig, seconds);
    const { at, steps } = present.state;
    const step = steps[at];
    if (step?.step === 'ask') {
      const proposed = Object.fromEntries(step.fields.map(({ field, proposed: value }) => [field, value ?? 0]));
      present.answer(options.answers?.(step) ?? proposed);
    }
  }
  await opened.close();
  if (failure !== undefined) throw failure;
  if (ended == null) throw new Error('the check came to no end');
  // As it would come back from the disk.
  const record = checkRecordSchema.parse(JSON.parse(JSON.stringify(ended)));
  const verdict = definition.evaluate(record, rig.rig);
  return {
    record,
    verdict,
    truth: drawTrueValues(scenario, seed),
    figure(name) {
      const found = verdict.figures.find((one) => one.figure === name);
      if (found === undefined) throw new Error(`no figure ${name}: ${JSON.stringify(verdict)}`);
      return found;
    },
  };
}
