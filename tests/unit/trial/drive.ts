import type { TrialEvent } from '../../../src/model/trial-event.ts';
import type { Schedule } from '../../../src/series/schedule.ts';
import { prepareMachine } from '../../../src/trial/machine-state.ts';
import type { TrialMachine } from '../../../src/trial/machine-state.ts';
import { next } from '../../../src/trial/machine.ts';
import type { TrialAction, TrialEffect, TrialInput } from '../../../src/trial/machine-seam.ts';

/** Drives a machine by hand: keeps what it recorded and what it waits for. */
export class Drive {
  state: TrialMachine;
  readonly events: TrialEvent[] = [];
  readonly effects: TrialEffect[] = [];
  wakeAt: number | null = null;
  readonly schedule: Schedule;

  constructor(schedule: Schedule, state: TrialMachine = prepareMachine(schedule)) {
    this.schedule = schedule;
    this.state = state;
  }

  send(input: TrialInput): TrialEffect[] {
    const transition = next(this.state, input, this.schedule);
    this.state = transition.state;
    this.effects.push(...transition.effects);
    for (const effect of transition.effects) {
      if (effect.effect === 'record') this.events.push(effect.event);
      if (effect.effect === 'wake-at') this.wakeAt = effect.atMicroseconds;
    }
    return [...transition.effects];
  }

  act(action: TrialAction, atMicroseconds = this.state.nowMicroseconds, exercise: string | null = null): TrialEffect[] {
    return this.send({ input: 'action', action, atMicroseconds, person: 'p1', note: '', exercise });
  }

  acknowledge(afterMicroseconds = 0): void {
    const request = this.state.request?.request ?? -1;
    this.send({ input: 'port-acknowledged', atMicroseconds: this.state.nowMicroseconds + afterMicroseconds, request });
  }

  /** Follows the machine's own wakes with the valve answering at once, until a condition or the end of wakes. */
  runUntil(condition: () => boolean, lateMicroseconds: () => number = () => 0): void {
    while (!condition()) {
      if (this.state.request?.status === 'requested') this.acknowledge(Math.min(1000, lateMicroseconds()));
      if (condition() || this.wakeAt === null) return;
      const atMicroseconds = this.wakeAt + lateMicroseconds();
      const effects = this.send({ input: 'time', atMicroseconds });
      if (effects.some((effect) => effect.effect === 'judge-challenge')) {
        this.send({ input: 'challenge-judged', atMicroseconds, steady: true, rangePercent: 2, meanReading: 12 });
      }
    }
  }

  /** Runs until the dwell under way is the given step. */
  runToStep(step: number): void {
    this.runUntil(() => this.state.dwell?.step === step);
  }

  of<Kind extends TrialEvent['kind']>(kind: Kind): Extract<TrialEvent, { kind: Kind }>[] {
    return this.events.filter((event): event is Extract<TrialEvent, { kind: Kind }> => event.kind === kind);
  }
}
