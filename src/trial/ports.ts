import { record } from './work.ts';
import type { Work } from './work.ts';

/** Between two requests for a port that was not confirmed, µs. */
export const retryMicroseconds = 2_000_000;

/** Requests for filtered air when nothing is measured. */
export const parkingTries = 5;

/** Where the valve stands while nothing is measured: filtered air, but the reference while its challenge is watched. */
export function parkingPort(work: Work): number {
  const { state, schedule } = work;
  const watched = state.held === 'challenge-unsteady' ? schedule.steps[state.cursor.step]?.port : undefined;
  return watched ?? schedule.filteredAirPort;
}

/** Sends the valve there, outside any dwell. */
export function parkValve(work: Work): void {
  requestPort(work, -1, parkingPort(work), 1);
}

/** Asks for a port; an answer to any older request no longer counts. */
export function requestPort(work: Work, dwell: number, port: number, tries: number): void {
  const { state } = work;
  const request = state.nextRequest;
  state.nextRequest += 1;
  state.request = {
    request,
    dwell,
    port,
    status: 'requested',
    tries,
    acknowledgedAtMicroseconds: null,
    retryAtMicroseconds: null,
  };
  record(work, { kind: 'port-requested', atMicroseconds: state.nowMicroseconds, dwell, port });
  work.effects.push({ effect: 'request-port', request, dwell, port });
}

/** The valve is there. Answers to older requests are ignored. */
export function acknowledge(work: Work, request: number): void {
  const pending = work.state.request;
  if (pending === null || pending.request !== request || pending.status !== 'requested') return;
  pending.status = 'acknowledged';
  pending.acknowledgedAtMicroseconds = work.state.nowMicroseconds;
  const { dwell, port } = pending;
  record(work, { kind: 'port-acknowledged', atMicroseconds: work.state.nowMicroseconds, dwell, port });
}

/**
 * The trial goes on; the port is asked for again as long as an answer would still leave something to measure.
 * Parking is tried a fixed number of times.
 */
export function doubtPort(work: Work, request: number, detail: string): void {
  const { state } = work;
  const pending = state.request;
  if (pending === null || pending.request !== request || pending.status !== 'requested') return;
  pending.status = 'unconfirmed';
  const { dwell, port } = pending;
  record(work, { kind: 'port-unconfirmed', atMicroseconds: state.nowMicroseconds, dwell, port, detail });
  pending.retryAtMicroseconds = nextTry(work, pending.tries);
}

/** When to ask again, µs; null when an answer would come too late to be of use. */
function nextTry({ state, schedule }: Work, tries: number): number | null {
  const retryAt = state.nowMicroseconds + retryMicroseconds;
  const worthwhile =
    state.dwell === null
      ? tries < parkingTries
      : retryAt + schedule.leastDwellMicroseconds <= state.dwell.deadlineMicroseconds;
  return worthwhile ? retryAt : null;
}

/** The dwell under way has become longer: a port that was given up may be of use again. */
export function reconsiderPort(work: Work): void {
  const { request } = work.state;
  if (request?.status !== 'unconfirmed') return;
  request.retryAtMicroseconds ??= nextTry(work, request.tries);
}

/** Asks again when that is due and still of use. */
export function retryWhenDue(work: Work): void {
  const { request, dwell, nowMicroseconds } = work.state;
  if (request === null || request.retryAtMicroseconds === null || request.retryAtMicroseconds > nowMicroseconds) return;
  request.retryAtMicroseconds = null;
  // Came too late to be of use: the dwell is over, or nearly.
  if (dwell !== null && nowMicroseconds + work.schedule.leastDwellMicroseconds > dwell.deadlineMicroseconds) return;
  requestPort(work, request.dwell, request.port, request.tries + 1);
}
