import type { TrialEvent } from '../model/trial-event.ts';
import type { Schedule } from '../series/schedule.ts';
import type { TrialMachine } from './machine-state.ts';
import { prepareMachine } from './machine-state.ts';
import { followRecorded, storedMachine } from './restore.ts';

/** The trial machine as it was at any point of a record, by going through its events in order. */
export interface MachineFollower {
  /** After the last event that was followed. Replaced or changed by the next one. */
  readonly machine: TrialMachine;
  follow(event: TrialEvent): void;
}

/**
 * Follows a record from its beginning. Unlike a restart, which forgets requests to the valve, it knows what was asked
 * and what the valve said.
 */
export function createMachineFollower(schedule: Schedule): MachineFollower {
  let machine = prepareMachine(schedule);
  return {
    get machine() {
      return machine;
    },
    follow(event) {
      const stored = storedMachine(event);
      if (stored === null) followRecorded(machine, event, schedule);
      else machine = stored;
      followRequest(machine, event);
    },
  };
}

function followRequest(machine: TrialMachine, event: TrialEvent): void {
  switch (event.kind) {
    case 'port-requested': {
      const again = machine.request !== null && machine.request.dwell === event.dwell;
      machine.request = {
        request: machine.nextRequest,
        dwell: event.dwell,
        port: event.port,
        status: 'requested',
        tries: again ? (machine.request?.tries ?? 0) + 1 : 1,
        acknowledgedAtMicroseconds: null,
        retryAtMicroseconds: null,
      };
      machine.nextRequest += 1;
      return;
    }
    case 'port-acknowledged':
      if (machine.request === null) return;
      machine.request = {
        ...machine.request,
        status: 'acknowledged',
        acknowledgedAtMicroseconds: event.atMicroseconds,
      };
      return;
    case 'port-unconfirmed':
      if (machine.request !== null) machine.request = { ...machine.request, status: 'unconfirmed' };
      return;
    case 'dwell-ended':
      machine.request = null;
      return;
    default:
      return;
  }
}
