import type { CheckResult, InstrumentState, Snapshot } from '../../src/bridge/snapshot.ts';
import { isSoftwarePort } from './software-port.ts';

/** Why no trial can start now. Each is one thing that a person can change. */
export type Obstacle =
  | { readonly kind: 'no-rig' }
  | { readonly kind: 'rig-not-open' }
  | { readonly kind: 'instrument-not-live'; readonly instrument: string; readonly state: InstrumentState['state'] }
  | { readonly kind: 'trial-under-way' }
  | { readonly kind: 'check-running' }
  | { readonly kind: 'nobody' };

/** What a trial begun now would carry into its result. */
export type Burden =
  | { readonly kind: 'check-missing'; readonly check: CheckResult['check'] }
  | { readonly kind: 'check-failed'; readonly check: CheckResult['check'] }
  | { readonly kind: 'check-old'; readonly check: CheckResult['check']; readonly days: number }
  | { readonly kind: 'valve-unconfirmed' }
  | { readonly kind: 'software-port' }
  | { readonly kind: 'virtual' };

export interface Readiness {
  readonly obstacles: readonly Obstacle[];
  readonly burdens: readonly Burden[];
}

const dayMilliseconds = 86_400_000;
const checks = ['zero', 'span'] as const;

/**
 * Whether a trial can start, and what it would carry. The host has the last word; this is what can be said before.
 * @param nowMilliseconds wall clock, since 1970
 */
export function trialReadiness(snapshot: Snapshot, nowMilliseconds: number): Readiness {
  const { rig } = snapshot;
  if (rig.state === 'closed' || rig.state === 'failed') return { obstacles: [{ kind: 'no-rig' }], burdens: [] };
  if (rig.state !== 'open') return { obstacles: [{ kind: 'rig-not-open' }], burdens: [] };
  const obstacles: Obstacle[] = [];
  for (const { instrument, state } of rig.instruments) {
    if (state !== 'live') obstacles.push({ kind: 'instrument-not-live', instrument, state });
  }
  if (snapshot.trial !== null) obstacles.push({ kind: 'trial-under-way' });
  if (rig.checks.running !== null) obstacles.push({ kind: 'check-running' });
  if (snapshot.person === null) obstacles.push({ kind: 'nobody' });
  return { obstacles, burdens: burdensOf(snapshot, nowMilliseconds) };
}

function burdensOf(snapshot: Snapshot, nowMilliseconds: number): Burden[] {
  const { rig } = snapshot;
  const burdens: Burden[] = [];
  for (const check of checks) {
    const result = newestOf(rig.checks.results, check);
    if (result === null) burdens.push({ kind: 'check-missing', check });
    else if (!result.passed) burdens.push({ kind: 'check-failed', check });
    else {
      const days = Math.floor((nowMilliseconds - Date.parse(result.at)) / dayMilliseconds);
      if (days >= 1) burdens.push({ kind: 'check-old', check, days });
    }
  }
  if (rig.valve.state === 'unconfirmed') burdens.push({ kind: 'valve-unconfirmed' });
  if (rig.rig?.virtual === true) burdens.push({ kind: 'virtual' });
  else if (rig.instruments.some(({ settings }) => settings !== null && isSoftwarePort(settings))) {
    burdens.push({ kind: 'software-port' });
  }
  return burdens;
}

/** The newest result of a check, or null when it has never been run on this version of the rig. */
export function newestOf(results: readonly CheckResult[], check: CheckResult['check']): CheckResult | null {
  let newest: CheckResult | null = null;
  for (const result of results) {
    if (result.check === check && (newest === null || result.at > newest.at)) newest = result;
  }
  return newest;
}
