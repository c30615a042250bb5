import type { InstrumentState, Snapshot } from '../../src/bridge/snapshot.ts';
import { checkName } from '../../src/calibration/check/names.ts';
import { standingsOf } from '../../src/calibration/check/standing.ts';
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
  | { readonly kind: 'check-missing' | 'check-failed'; readonly check: string }
  | { readonly kind: 'check-overdue'; readonly check: string; readonly days: number }
  | { readonly kind: 'certificate'; readonly certificate: string; readonly missing: boolean }
  /** So many checks that hold were made before the rig was changed. */
  | { readonly kind: 'earlier-version'; readonly checks: number }
  | { readonly kind: 'valve-unconfirmed' }
  | { readonly kind: 'no-stop-contact' }
  | { readonly kind: 'software-port' }
  | { readonly kind: 'virtual' };

export interface Readiness {
  readonly obstacles: readonly Obstacle[];
  readonly burdens: readonly Burden[];
}

const dayMilliseconds = 86_400_000;

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
  let earlier = 0;
  for (const one of rig.rig === null ? [] : standingsOf(rig.rig, rig.checks.results, nowMilliseconds)) {
    const check = checkName(one.check, one.subject, rig.rig);
    if (one.standing === 'never') {
      // The others are made when a laboratory decides to; without these two no day begins.
      if (one.check === 'zero' || one.check === 'span') burdens.push({ kind: 'check-missing', check });
    } else if (one.standing === 'failed') burdens.push({ kind: 'check-failed', check });
    else if (one.standing === 'overdue') {
      const days = Math.ceil((nowMilliseconds - (one.dueAt ?? nowMilliseconds)) / dayMilliseconds);
      burdens.push({ kind: 'check-overdue', check, days });
    } else if (one.newest?.version !== rig.rig?.version) earlier += 1;
  }
  for (const one of rig.doubtfulCertificates) {
    burdens.push({
      ...{ kind: 'certificate', missing: one.certificate === null },
      certificate: one.certificate === null ? one.instrument : `${one.certificate.number} of ${one.instrument}`,
    });
  }
  if (earlier > 0) burdens.push({ kind: 'earlier-version', checks: earlier });
  if (rig.valve.state === 'unconfirmed') burdens.push({ kind: 'valve-unconfirmed' });
  if (!hasStop(rig)) burdens.push({ kind: 'no-stop-contact' });
  if (rig.rig?.virtual === true) burdens.push({ kind: 'virtual' });
  else if (rig.instruments.some(({ settings }) => settings !== null && isSoftwarePort(settings))) {
    burdens.push({ kind: 'software-port' });
  }
  return burdens;
}

/** Some instrument tells whether the subject presses a stop. */
function hasStop({ instruments, streams }: Snapshot['rig']): boolean {
  return streams.some(
    ({ instrument, stream }) =>
      (stream === 'stop' || stream === 'foot-stop') &&
      instruments.some((one) => one.instrument === instrument && one.kind === 'contact'),
  );
}
