import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import type { Cancellation } from '../../../../src/device/cancellation.ts';
import type { PortSelector } from '../../../../src/device/driver.ts';
import { createConductor } from '../../../../src/host/conductor/conductor.ts';
import type { Conductor, ConductorOptions, Cue } from '../../../../src/host/conductor/conductor.ts';
import { ChambersideError } from '../../../../src/model/error-code.ts';
import type { TrialEvent } from '../../../../src/model/trial-event.ts';
import { compileSchedule } from '../../../../src/series/compile.ts';
import type { Schedule } from '../../../../src/series/schedule.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';
import type { FakeClock } from '../../../support/fake-clock.ts';

/** How the fake valve answers the next requests. */
export type Behaviour =
  | { readonly answer: 'after'; readonly microseconds: number }
  | { readonly answer: 'wrong' }
  | { readonly answer: 'never' };

/** A valve behind the driver's contract: answers by the clock, gives up when cancelled. */
export class FakeSelector implements PortSelector {
  behaviour: (port: number) => Behaviour = () => ({ answer: 'after', microseconds: 150_000 });
  readonly asked: { readonly port: number; readonly atMicroseconds: number }[] = [];
  cancelled = 0;
  private readonly clock: FakeClock;

  constructor(clock: FakeClock) {
    this.clock = clock;
  }

  select(port: number, cancellation?: Cancellation): Promise<{ readonly atMicroseconds: number }> {
    this.asked.push({ port, atMicroseconds: this.clock.now() });
    const behaviour = this.behaviour(port);
    return new Promise((resolve, reject) => {
      if (behaviour.answer === 'wrong') {
        reject(new ChambersideError('answer-unexpected', 'the valve says it is on port 3', 'selector', 'Look at it.'));
        return;
      }
      const cancel =
        behaviour.answer === 'after'
          ? this.clock.after(behaviour.microseconds, () => resolve({ atMicroseconds: this.clock.now() }))
          : (): void => undefined;
      cancellation?.addEventListener('abort', () => {
        this.cancelled += 1;
        cancel();
        reject(new ChambersideError('request-cancelled', 'the request was withdrawn', 'selector', 'Ask again.'));
      });
    });
  }

  position(): Promise<{ readonly port: number; readonly atMicroseconds: number }> {
    return Promise.resolve({ port: this.asked.at(-1)?.port ?? 1, atMicroseconds: this.clock.now() });
  }
}

export interface Bench {
  readonly clock: FakeClock;
  readonly selector: FakeSelector;
  readonly schedule: Schedule;
  readonly events: TrialEvent[];
  readonly cues: Cue[];
  readonly failures: unknown[];
  readonly conductor: Conductor;
  of<Kind extends TrialEvent['kind']>(kind: Kind): Extract<TrialEvent, { kind: Kind }>[];
  /** Gives the conductor 10 readings a second of a challenge, until the end of time. */
  feed(valueAt: (atMicroseconds: number) => number): void;
}

export function createBench(changes: Partial<ConductorOptions> = {}, startsAt = 0): Bench {
  const clock = createFakeClock(startsAt);
  const selector = new FakeSelector(clock);
  const schedule = compileSchedule(demo.series, demo.rig);
  const events: TrialEvent[] = [];
  const cues: Cue[] = [];
  const failures: unknown[] = [];
  const conductor = createConductor({
    clock,
    series: demo.series,
    rig: demo.rig,
    schedule,
    selector: () => selector,
    record: (event) => events.push(event),
    onCue: (cue) => cues.push(cue),
    onFailure: (error) => failures.push(error),
    ...changes,
  });
  return {
    clock,
    selector,
    schedule,
    events,
    cues,
    failures,
    conductor,
    of: <Kind extends TrialEvent['kind']>(kind: Kind) =>
      events.filter((event): event is Extract<TrialEvent, { kind: Kind }> => event.kind === kind),
    feed(valueAt) {
      const tick = (): void => {
        if (conductor.machine.phase === 'closed') return;
        const atMicroseconds = clock.now();
        conductor.observeReading({
          instrument: 'photometer',
          stream: 'concentration',
          atMicroseconds,
          value: valueAt(atMicroseconds),
        });
        clock.after(100_000, tick);
      };
      tick();
    },
  };
}
