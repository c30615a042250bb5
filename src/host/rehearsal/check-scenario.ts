import { compileSchedule } from '../../series/compile.ts';
import { describeStreams } from '../acquisition/acquisition.ts';
import { createVirtualClock } from '../clock/virtual-clock.ts';
import { createInProcessRig } from '../rig/in-process-rig.ts';
import { findScenario } from '../rig/rig-process-options.ts';
import { defaultScenario, defaultSeed, type PlanOptions } from './plan.ts';

/**
 * Everything about a scenario that can be wrong, before a file is made or an instrument is opened: its name, its form,
 * the settings of its instruments, and whether its series fits its rig.
 * @throws ChambersideError `usage-bad-value`, `file-not-found`, `configuration-invalid`, `driver-unknown`,
 *   `schedule-impossible`.
 */
export function checkScenario(options: Pick<PlanOptions, 'scenario' | 'seed' | 'resume'>): void {
  // A trial that is gone on with has been checked when it began, unless another scenario is asked for.
  if (options.resume && options.scenario === null) return;
  const { rig, series } = createInProcessRig({
    scenario: findScenario(options.scenario ?? defaultScenario),
    seed: options.seed ?? defaultSeed,
    clock: createVirtualClock(0),
    truth: { append: () => undefined },
  });
  describeStreams(rig);
  compileSchedule(series, rig);
}
